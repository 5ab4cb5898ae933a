//! What was planted, as written beside the fleet in `truth.json`.

use serde::Serialize;

/// The planted truth. Probabilities and hazards are per unit named; a hazard h is met with
/// probability 1 - exp(-h).
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Truth {
    pub seed: u64,
    pub sites: usize,
    /// First and last day written down.
    pub from: String,
    pub to: String,
    pub counts: Counts,
    pub linked_faults: LinkedFaults,
    pub cycles: Cycles,
    pub entry: Entry,
    pub first_pass: Vec<FirstPass>,
    /// Probability that a clean end face fails a look.
    pub false_alarm: f64,
    /// Probability that a contaminated end face passes a visit's first look.
    pub miss: f64,
    pub carriers: Carriers,
    /// Probability that one cleaning of a clean end face leaves it dirty (the worn tool apart).
    pub soil: f64,
    pub dirty_supplier: Supplier,
    pub exports: ExportDirt,
}

/// What was written down, before repeated and unreadable rows.
#[derive(Clone, Debug, Default, Serialize, PartialEq)]
pub struct Counts {
    /// Looks at an end face, readable or not; a multi-fibre look counts once.
    pub inspections: u64,
    pub cleanings: u64,
    pub matings: u64,
    pub faults: u64,
    pub end_faces: u64,
    pub matings_both: u64,
    pub matings_one: u64,
    pub matings_none: u64,
    pub matings_despite_fail: u64,
}

/// Linked faults: what follows a mating.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct LinkedFaults {
    pub confirmed: u64,
    pub probable: u64,
    /// Both, opened in the last 365 days.
    pub last_year: u64,
    /// Tickets stamped after the repair.
    pub lagged: u64,
    /// Other faults by cause.
    pub others: Vec<(String, u64)>,
    /// Rate ratio of skipped (one or none) against both that a Mantel-Haenszel estimate over site x
    /// stage x family expects: matings of the last 365 days not after a fault, 90 days followed.
    pub rate_ratio_expected: Option<f64>,
    /// Planted in every cell but the worst.
    pub rate_ratio_elsewhere: f64,
    pub worst_cells: Vec<WorstCell>,
    pub rate_ratio_despite_fail: f64,
    pub factor_after_fault: f64,
    /// Per connection-month after a mating of class both, LC, in a band of factor 1: stage, rate.
    pub baseline: Vec<(String, f64)>,
    /// Factor on the baseline by family.
    pub families: Vec<(String, f64)>,
    /// Factor on the baseline by days since mating, up to the day named; the last has no end.
    pub bands: Vec<(Option<f64>, f64)>,
    pub other_causes_per_month: Vec<(String, f64)>,
}

/// A cell where skipping costs most.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct WorstCell {
    pub site: Option<String>,
    pub stage: String,
    pub family: Option<String>,
    pub rate_ratio: f64,
}

/// Cleaning until it passes.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Cycles {
    pub methods: Vec<MethodTruth>,
    /// Odds ratio of each further cycle.
    pub odds_ratio_per_cycle: f64,
    /// Probability that a cycle that does not pass uncovers a defect.
    pub defect_uncovered: f64,
    /// Cycles after which somebody gives up, drawn with equal weight.
    pub limits: [u32; 6],
}

/// One cleaning method.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct MethodTruth {
    pub method: String,
    /// Odds ratio of a pass against dry.
    pub odds_ratio: f64,
    /// Probability that cycles 1 to 6 pass.
    pub pass: Vec<f64>,
}

/// Where dirt enters.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Entry {
    pub steps: Vec<StepTruth>,
    /// Hazard before the first visit of an end face.
    pub birth: f64,
    /// Factor where the end face came capped.
    pub cap_factor: f64,
    /// Factor by family.
    pub families: Vec<(String, f64)>,
    /// The step between stages with the largest hazard.
    pub largest_step: (String, String),
}

/// One step between neighbouring stages, or the repeat of a stage (from equals to).
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct StepTruth {
    pub from: String,
    pub to: String,
    /// Of an uncapped LC end face.
    pub hazard: f64,
    /// Mean over the passages of the last 365 days, with their caps, families and test leads.
    pub hazard_average: Option<f64>,
}

/// Probability that a routine visit that begins with a look is passed by it, last 365 days.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct FirstPass {
    pub stage: String,
    pub family: String,
    pub capped: bool,
    pub visits: u64,
    pub pass: f64,
}

/// What carries dirt.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Carriers {
    pub leads: Vec<String>,
    /// Probability that a carrier dirties the port it touched.
    pub carrier_dirt: f64,
    /// The same of every other lead.
    pub lead_dirt: f64,
    pub tool: Option<String>,
    pub tool_soil: f64,
    pub tool_odds_ratio: f64,
}

/// A supplier whose end faces arrive dirtier.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Supplier {
    pub name: String,
    /// Factor on the hazard before the first visit.
    pub factor: f64,
}

/// Rows spoiled on purpose.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct ExportDirt {
    pub bad_dates: u64,
    pub unknown_codes: u64,
    pub short_rows: u64,
    pub repeated_rows: u64,
    pub overlap_rows: u64,
    pub corrected_rows: u64,
}
