//! What is planted: every probability, hazard and ratio that the invented fleet is drawn with.
//!
//! Numbers here are invented. They are what `truth.json` states and what a review of the fleet
//! should find within its intervals.

use super::culprits::Culprits;
use super::event::{Class, Method, Minute};
use super::lifecycle::Lifecycle;
use super::place::Place;

/// Connector families.
pub const FAMILIES: [&str; 6] = ["LC", "SC", "FC", "BFOC", "MU", "MPO"];
/// Index of MPO in [`FAMILIES`].
pub const MPO: usize = 5;
/// Share of connections of each family.
pub const FAMILY_SHARES: [f64; 6] = [0.34, 0.24, 0.10, 0.09, 0.09, 0.14];
/// Dirt enters this much more readily than in LC.
pub const FAMILY_DIRT: [f64; 6] = [1.0, 0.9, 1.1, 1.3, 1.2, 1.5];
/// Linked faults come this much more often than in LC.
pub const FAMILY_FAULTS: [f64; 6] = [1.0, 0.9, 1.1, 1.2, 1.1, 1.3];

/// Optics and the share of bulkhead end faces with each; plugs are all of the first.
pub const OPTICS: [&str; 4] = ["fibre", "stub", "recessed-lens", "window"];
/// Shares of [`OPTICS`] among bulkhead end faces.
pub const OPTIC_SHARES: [f64; 4] = [0.68, 0.18, 0.06, 0.08];
/// Invented suppliers; one delivers dirtier end faces.
pub const SUPPLIERS: [&str; 5] =
    ["Norrvik Optik", "Taledo Fibre", "Brandal Connect", "Isel Photonics", "Ferrano"];
/// Birth hazard of the dirty supplier against the others.
pub const DIRTY_SUPPLIER: f64 = 1.8;

/// Entry hazard before an end face's first visit: LC, uncapped.
pub const BIRTH_HAZARD: f64 = 0.12;
/// Dust caps bring dust: hazards times this where the end face came capped.
pub const CAP_FACTOR: f64 = 1.3;
/// End faces with a defect at their first visit.
pub const DEFECT_AT_BIRTH: f64 = 0.012;

/// A clean end face is called contaminated.
pub const FALSE_ALARM: f64 = 0.008;
/// A contaminated end face is called clean at the visit's first look.
pub const MISS: f64 = 0.015;
/// A defect is seen by a visit's first look.
pub const DEFECT_SEEN: f64 = 0.95;
/// A look is preceded by one that gave no readable picture.
pub const UNREADABLE: f64 = 0.012;
/// A passing look is repeated by somebody else within minutes.
pub const SECOND_LOOK: f64 = 0.05;
/// A failing cycle turns out to be a defect.
pub const DEFECT_UNCOVERED: f64 = 0.02;
/// Cycles after which somebody gives up, drawn with equal weight.
pub const LIMITS: [u32; 6] = [3, 3, 4, 4, 5, 6];
/// An end face given up as contaminated is rejected.
pub const REJECTED_AT_LIMIT: f64 = 0.55;
/// One with a defect is.
pub const REJECTED_FOR_DEFECT: f64 = 0.8;
/// After two cycles the wet-dry method takes over.
pub const TURNS_WET_DRY: f64 = 0.4;
/// Where cleanings may go without a look after them: a cycle has two.
pub const CLEANED_TWICE: f64 = 0.04;
/// Likewise: one follows a passing look.
pub const CLEANED_AFTER_PASS: f64 = 0.005;
/// Likewise: no look follows the cleaning that a visit began with.
pub const LEFT_UNSEEN: f64 = 0.2;
/// One cleaning of a clean end face leaves it dirty.
pub const SOIL: f64 = 0.05;
/// An end face that just passed is cleaned all the same.
pub const CLEAN_WHILE_CLEAN: f64 = 0.07;
/// A visit begins with a cleaning, nobody having looked.
pub const CLEANED_UNSEEN: f64 = 0.06;
/// Odds that the first cycle passes with the dry method.
pub const DRY_ODDS: f64 = 1.3;
/// Odds ratio of each further cycle.
pub const CYCLE_ODDS: f64 = 0.75;
/// Odds ratio of a pass with the worn tool.
pub const WORN_ODDS: f64 = 0.35;
/// Soil probability of the worn tool.
pub const WORN_SOIL: f64 = 0.35;

/// A test lead dirties the port it touched.
pub const LEAD_DIRT: f64 = 0.05;
/// A carrier does so with this probability.
pub const CARRIER_DIRT: f64 = 0.40;
/// Test leads of one family at one site.
pub const LEADS_EACH: usize = 4;

/// Rate ratio of matings made skipped against both, elsewhere than in the worst cells.
pub const RATIO: f64 = 1.75;
/// The same in the worst cells.
pub const RATIO_WORST: f64 = 5.0;
/// Rate ratio of matings made despite a failing look.
pub const RATIO_DESPITE: f64 = 3.0;
/// Rate factor of matings made within 30 days after a fault.
pub const AFTER_FAULT: f64 = 1.4;
/// Rate factor by time since mating: end of the band in days, factor.
pub const BANDS: [(f64, f64); 4] = [(7.0, 1.5), (30.0, 1.2), (90.0, 0.9), (f64::INFINITY, 0.4)];
/// Faults of causes that have nothing to do with dirt, per connection-month.
pub const OTHER_CAUSES: [(&str, f64); 6] = [
    ("break", 0.0035),
    ("bend", 0.0030),
    ("equipment", 0.0040),
    ("end-face-defect", 0.0010),
    ("no-fault-found", 0.0035),
    ("unknown", 0.0015),
];
/// Share of linked faults whose cause code says contamination; the rest are probable.
pub const CONFIRMED: f64 = 0.75;
/// Share of linked faults whose ticket is stamped after the repair.
pub const LAGGED: f64 = 0.12;
/// Share of linked faults with a second ticket within a day.
pub const SECOND_TICKET: f64 = 0.05;

/// Share of connections that are tested with a lead where they stay, in fleets that have this stage.
pub const ACCEPTED: f64 = 0.5;
/// Mean days between a mating and planned work on it, beyond the first ten.
pub const MAINTENANCE_GAP: f64 = 170.0;
/// Share of connections that are made during the months written down.
pub const NEW_SHARE: f64 = 0.8;

/// Minutes of one day.
pub const DAY: Minute = 1440;
/// Minutes of one connection-month, 730.5 hours.
pub const MONTH: f64 = 43_830.0;

/// Odds ratio of a pass against the dry method.
pub fn method_odds(method: Method) -> f64 {
    match method {
        Method::Dry => 1.0,
        Method::WetDry => 2.0,
        Method::Wet => 0.8,
        Method::NonContact => 1.4,
    }
}

/// Probability that cycle number `cycle` (from 1) passes; `worn` is the worn tool.
pub fn pass_hazard(method: Method, cycle: u32, worn: bool) -> f64 {
    let tool = if worn { WORN_ODDS } else { 1.0 };
    let odds = DRY_ODDS * method_odds(method) * CYCLE_ODDS.powi(cycle as i32 - 1) * tool;
    odds / (1.0 + odds)
}

/// Rate ratio of a class against `both` in a cell of site, stage and family; `planted` stands for skipped in every cell.
pub fn class_ratio(
    life: &Lifecycle,
    class: Class,
    (site, stage, family): (usize, usize, usize),
    planted: Option<f64>,
) -> f64 {
    let Culprits { worst_cell, worst_family, .. } = life.culprits;
    let worst = worst_cell == (site, stage) || worst_family == (stage, family);
    match class {
        Class::One | Class::None => planted.unwrap_or(if worst { RATIO_WORST } else { RATIO }),
        Class::DespiteFail => RATIO_DESPITE,
        Class::Both => 1.0,
    }
}

/// Probability that a mating is made with at least one end not looked at.
pub fn skip_probability(life: &Lifecycle, place: &Place, stage: usize, family: usize) -> f64 {
    let stage_part = if stage == life.installed { 0.22 } else { 0.30 };
    let family_part = [0.0, 0.04, 0.0, 0.06, 0.02, 0.15][family];
    (stage_part + family_part + place.skip).clamp(0.03, 0.8)
}
