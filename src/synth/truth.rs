//! What was planted, as written beside the fleet in `truth.json`.

use serde::Serialize;

use super::departures::Departures;

/// The planted truth. Probabilities and hazards are per unit named; a hazard h is met with
/// probability 1 - exp(-h).
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Truth {
    /// Seed of every draw.
    pub seed: u64,
    /// Sites of the fleet.
    pub sites: usize,
    /// First day written down.
    pub from: String,
    /// Last day written down.
    pub to: String,
    /// What was written down.
    pub counts: Counts,
    /// Faults that dirt caused.
    pub linked_faults: LinkedFaults,
    /// Odds of cleaning cycles.
    pub cycles: Cycles,
    /// Dirt between neighbouring stages.
    pub entry: Entry,
    /// First looks, a cell each.
    pub first_pass: Vec<FirstPass>,
    /// Probability that a clean end face fails a look.
    pub false_alarm: f64,
    /// Probability that a contaminated end face passes a visit's first look.
    pub miss: f64,
    /// What passes dirt on.
    pub carriers: Carriers,
    /// Probability that one cleaning of a clean end face leaves it dirty (the worn tool apart).
    pub soil: f64,
    /// The supplier whose end faces arrive dirty.
    pub dirty_supplier: Supplier,
    /// What was spoilt in the exports on purpose.
    pub exports: ExportDirt,
    /// What each proposal of the settings would save.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub proposals: Vec<ProposalTruth>,
    /// Of the sets that the budget pays for, the one that is worth most.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub best_set: Option<SetTruth>,
    /// What giving up cleaning would cost; none where nothing is proposed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stopping: Option<StoppingTruth>,
    /// Every set, the empty one too; not written down.
    #[serde(skip)]
    pub sets: Vec<SetTruth>,
    /// Departures planted beyond that, by key; left out where there are none.
    #[serde(skip_serializing_if = "Departures::is_none")]
    pub departures: Departures,
}

/// What was written down, before repeated and unreadable rows.
#[derive(Clone, Debug, Default, Serialize, PartialEq)]
pub struct Counts {
    /// Looks at an end face, readable or not; a multi-fibre look counts once.
    pub inspections: u64,
    /// Cleanings.
    pub cleanings: u64,
    /// Matings.
    pub matings: u64,
    /// Tickets.
    pub faults: u64,
    /// End faces.
    pub end_faces: u64,
    /// Matings of class both.
    pub matings_both: u64,
    /// Matings of class one.
    pub matings_one: u64,
    /// Matings of class none.
    pub matings_none: u64,
    /// Matings made despite a failing look.
    pub matings_despite_fail: u64,
}

/// Linked faults: what follows a mating, as it happened; departures that lose tickets are not taken off.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct LinkedFaults {
    /// Linked tickets whose record says that the cause was confirmed.
    pub confirmed: u64,
    /// Linked tickets whose record leaves the cause probable.
    pub probable: u64,
    /// Both, opened in the last 365 days.
    pub last_year: u64,
    /// Tickets stamped after the repair.
    pub lagged: u64,
    /// Other faults by cause.
    pub others: Vec<(String, u64)>,
    /// In the mean over planted luck: rate ratio of skipped (one or none) against both that a Mantel-Haenszel estimate over site x
    /// stage x family expects: matings of the last 365 days not after a fault, 90 days followed.
    pub rate_ratio_expected: Option<f64>,
    /// Planted in every cell but the worst.
    pub rate_ratio_elsewhere: f64,
    /// The cells where skipping a look costs most.
    pub worst_cells: Vec<WorstCell>,
    /// Rate ratio of matings made despite a failing look, against both.
    pub rate_ratio_despite_fail: f64,
    /// Factor on the rate of matings made within 30 days after a fault.
    pub factor_after_fault: f64,
    /// Per connection-month after a mating of class both, LC, in a band of factor 1: stage, rate.
    pub baseline: Vec<(String, f64)>,
    /// Factor on the baseline by family.
    pub families: Vec<(String, f64)>,
    /// Factor on the baseline by days since mating, up to the day named; the last has no end.
    pub bands: Vec<(Option<f64>, f64)>,
    /// Faults of causes that have nothing to do with dirt, per connection-month: cause, rate.
    pub other_causes_per_month: Vec<(String, f64)>,
}

/// What a proposal would save in expectation: what was planted, summed with and without the change along the lives that were
/// drawn, so that it carries no luck of faults. Money in units of the currency; of the last twelve months, faults and looks
/// of the matings among them that have run their horizon, as of a year. A number that the settings state from low to high
/// stands at its mean. None where it is not summed.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct ProposalTruth {
    /// Its name.
    pub name: String,
    /// Paid at the start.
    pub price: f64,
    /// Saved in a year, running cost not taken off.
    pub saving: Option<f64>,
    /// Saved in a year, running cost taken off.
    pub after_running_cost: Option<f64>,
    /// Linked faults avoided in a year.
    pub faults_avoided: Option<f64>,
    /// At the rate of the settings, over its life.
    pub net_present_value: Option<f64>,
    /// Where it replaces leads: what each of those that carry dirt is behind.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub carriers: Vec<CarrierTruth>,
}

/// What replacing one test lead would save.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct CarrierTruth {
    /// Its name.
    pub name: String,
    /// Saved in a year.
    pub saving: f64,
}

/// What a set of proposals would be worth, bought together.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct SetTruth {
    /// Their names.
    pub proposals: Vec<String>,
    /// Paid at the start.
    pub price: f64,
    /// At the rate of the settings.
    pub net_present_value: f64,
}

/// Giving up an end face that began contaminated, by the chances planted for the visits of the last twelve months. Units of
/// the currency an end face: a cycle is one cleaning and one look, given up or found defective it is a reject.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct StoppingTruth {
    /// After 0, 1, ... cycles, by everybody.
    pub cost_at_limit: Vec<f64>,
    /// As it is done: after the cycles that `cycles.limits` has.
    pub present: f64,
}

/// A cell where skipping costs most.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct WorstCell {
    /// Its site; none: any.
    pub site: Option<String>,
    /// Its stage.
    pub stage: String,
    /// Its family of connectors; none: any.
    pub family: Option<String>,
    /// Rate ratio of skipped (one or none) against both.
    pub rate_ratio: f64,
}

/// Cleaning until it passes.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Cycles {
    /// The methods of cleaning.
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
    /// Its name.
    pub method: String,
    /// Odds ratio of a pass against dry.
    pub odds_ratio: f64,
    /// Probability that cycles 1 to 6 pass with a tool that is not worn.
    pub pass: Vec<f64>,
    /// Mean probability that cycle 1 passes, over those on dirt in the last 365 days, with the luck that befell them and their
    /// worn tools.
    pub first_pass_average: Option<f64>,
    /// Mean of the probabilities planted for cycles 1 to 6 as they were made in the last 365 days, by the tools that made
    /// them, the worn one among these; none where none was made.
    pub pass_with_worn_tool: Vec<Option<f64>>,
    /// As `pass`, among the end faces that come to each cycle, all of them cleaned by this method, where luck that lasts from
    /// cycle to cycle or dirt that stays is planted: those left over are the unlucky ones.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pass_of_those_left: Option<Vec<f64>>,
}

/// Where dirt enters.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Entry {
    /// The steps from stage to stage.
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
    /// The earlier stage, or the one repeated.
    pub from: String,
    /// The later stage, or the one repeated.
    pub to: String,
    /// Of an uncapped LC end face.
    pub hazard: f64,
    /// Mean over the passages of the last 365 days, with their caps, families, test leads and the luck that befell them.
    pub hazard_average: Option<f64>,
}

/// Probability that a routine visit that begins with a look is passed by it, last 365 days.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct FirstPass {
    /// Its stage.
    pub stage: String,
    /// Its family of connectors.
    pub family: String,
    /// Whether its end faces came capped.
    pub capped: bool,
    /// Routine visits that begin with a look.
    pub visits: u64,
    /// Mean probability that one of them is passed by that look, with the luck that befell it, 0 to 1.
    pub pass: f64,
}

/// What carries dirt.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Carriers {
    /// Names of the test leads that are carriers.
    pub leads: Vec<String>,
    /// Probability that a carrier dirties the port it touched.
    pub carrier_dirt: f64,
    /// The same of every other lead.
    pub lead_dirt: f64,
    /// Name of the worn tool; none: there is none.
    pub tool: Option<String>,
    /// Probability that the worn tool leaves a clean end face dirty.
    pub tool_soil: f64,
    /// Odds ratio of a pass with the worn tool.
    pub tool_odds_ratio: f64,
}

/// A supplier whose end faces arrive dirtier.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct Supplier {
    /// Its name.
    pub name: String,
    /// Factor on the hazard before the first visit.
    pub factor: f64,
}

/// Rows spoiled on purpose.
#[derive(Clone, Debug, Serialize, PartialEq)]
pub struct ExportDirt {
    /// Rows whose time is no date.
    pub bad_dates: u64,
    /// Rows with a word that no map knows.
    pub unknown_codes: u64,
    /// Rows cut off in the middle.
    pub short_rows: u64,
    /// Rows written twice in a row.
    pub repeated_rows: u64,
    /// Rows that a later export of the same source tells again.
    pub overlap_rows: u64,
    /// Of those, rows with another content the first time.
    pub corrected_rows: u64,
}
