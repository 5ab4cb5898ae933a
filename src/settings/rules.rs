//! `[rules]`: thresholds, each within what makes sense.
//!
//! A window of 0 switches its rule off where that is meaningful; what divides, opens or looks back
//! must be at least 1.

use super::place::Place;
use super::problems::Problems;
use super::ranges::{Flag, Real, Seed, Whole, WholeIfAny, WholeOrAuto, Word};
use super::section::{Range, section};
use super::words;

/// A year in hours: no window of hours is longer.
const YEAR_HOURS: u32 = 8_784;
/// Ten years in days: no window of days is longer.
const DECADE_DAYS: u32 = 3_653;
/// A longer worklist is no worklist; candidates are kept for every cell, so it also bounds memory.
const MOST_WORKLIST_ROWS: u32 = 1_000;
/// No record is older: what is kept longer is kept for ever, by leaving the key out.
const MOST_KEPT_YEARS: u32 = 100;
/// Counts above this have no use as a threshold.
const MOST_COUNT: u32 = 1_000_000;

section! {
    TypedRules:
    /// Thresholds of the derivations and measures, each with the default that `Default` gives.
    Rules {
        /// V1: a gap longer than this opens a new visit, hours.
        visit_gap_hours: u32 = 8, Whole(1, YEAR_HOURS);
        /// C1: a look this long before a mating still counts, hours.
        coverage_window_hours: u32 = 24, Whole(1, YEAR_HOURS);
        /// F1: follow-up after a mating, days.
        horizon_days: u32 = 90, Whole(1, DECADE_DAYS);
        /// F4: inner cuts of the follow-up bands, days, rising and below the horizon.
        bands_days: Vec<u32> = vec![7, 30], Bands;
        /// F2: a fault this soon after a mating may belong to the mating it replaced, hours; `auto`: per source of
        /// tickets as they show it, 12 where they do not, at most 72.
        ticket_lag_hours: Option<u32> = None, WholeOrAuto(0, YEAR_HOURS);
        /// F2: how long before a mating another may have ended to count as replaced, days.
        replaced_within_days: u32 = 7, Whole(0, DECADE_DAYS);
        /// F3: tickets within this of the first are one fault, hours.
        merge_tickets_hours: u32 = 24, Whole(0, YEAR_HOURS);
        /// C3: a mating within this after a fault is `after_fault`, days.
        after_fault_days: u32 = 30, Whole(0, DECADE_DAYS);
        /// C3: the same two ends joined again within this is a reseat, hours.
        reseat_hours: u32 = 24, Whole(0, YEAR_HOURS);
        /// V7: a fault opened within this after a visit's start prompted it, hours.
        prompted_hours: u32 = 24, Whole(0, YEAR_HOURS);
        /// V7: how long a fault never cleared counts as open, days.
        open_fault_days: u32 = 30, Whole(0, DECADE_DAYS);
        /// V7: matings shorter than this do not keep a visit from being `again`, days.
        short_mating_days: u32 = 7, Whole(0, DECADE_DAYS);
        /// How far cycles, skipped cost, entry and carriers look back from the period's end, months.
        look_back_months: u32 = 12, Whole(1, 120);
        /// Level of every interval.
        level: f64 = 0.95, Real(0.5, 0.999);
        /// Below this many units a share is `thin`.
        least_count: u32 = 20, Whole(1, MOST_COUNT);
        /// Below this many clusters a variance is `few-clusters`.
        few_clusters: u32 = 10, Whole(2, MOST_COUNT);
        /// Scale of the half-normal prior of the between-cell deviation of log rate ratios (5.5).
        ratio_spread: f64 = 0.5, Real(0.01, 10.0);
        /// Matings in a month without a look that make the month silent (5.3).
        silent_matings: u32 = 20, Whole(1, MOST_COUNT);
        /// R8: where a smaller share of names meets in both directions, names stand apart.
        least_meeting: f64 = 0.2, Real(0.0, 1.0);
        /// Rows of each of the three lists of what to look at first (5.11).
        worklist_rows: u32 = 100, Whole(1, MOST_WORKLIST_ROWS);
        /// Sites with a page of their own in the report; those that stand out most come first.
        site_pages: u32 = 300, Whole(0, 10_000);
        /// Share of the rows of a file of 100 rows or more, of a source, of a table or of all that may be quarantined before the run ends with code 1.
        quarantine_limit: f64 = 0.02, Real(0.0, 1.0);
        /// Share of the tickets of linked faults without any price above which no money of faults is ranked or headlined (5.5).
        unpriced_limit: f64 = 0.5, Real(0.0, 1.0);
        /// Whether an export that cannot be read stops the run; else it is named and the rest goes on.
        strict: bool = false, Flag;
        /// Causes that dirt cannot produce: the negative control of 5.5.
        control_causes: Vec<String> = ["break", "bend", "equipment"].map(String::from).to_vec(), Causes;
        /// Seed of every draw.
        seed: u64 = 1, Seed;
        /// Whether people may be ranked by their pseudonyms.
        show_people ("people"): bool = false, Word("hide", "show");
        /// Records older than this, counted back from `as_of`, are dropped, years; none: all are kept.
        keep_years: Option<u32> = None, WholeIfAny(1, MOST_KEPT_YEARS);
        /// Memory that a pass may plan for, MiB.
        memory_mib: u32 = 256, Whole(16, 1_048_576);
        /// Draws of every purchase case (5.8).
        draws: u32 = 1000, Whole(100, 100_000);
    }
}

impl Default for Rules {
    fn default() -> Self {
        Self::left_out()
    }
}

/// The rules of what was typed; `causes` is the list that the control causes come from.
pub fn rules(
    typed: Option<&TypedRules>,
    causes: &[String],
    place: &Place,
    problems: &mut Problems,
) -> Rules {
    let absent = TypedRules::default();
    let typed = typed.unwrap_or(&absent);
    let rules = Rules::read(typed, place, problems);
    let (cuts, control) = (typed.bands_days.as_deref(), typed.control_causes.as_deref());
    Rules {
        bands_days: bands(cuts, rules.horizon_days, place, problems),
        control_causes: control_causes(control, causes, place, problems),
        ..rules
    }
}

/// Days that rise; [`bands`] checks them against the horizon.
pub struct Bands;

impl Range for Bands {
    type Typed = Vec<i64>;
    type Value = Vec<u32>;

    fn read(&self, typed: &Vec<i64>, _: &Place, _: &mut Problems) -> Vec<u32> {
        typed.iter().filter_map(|day| u32::try_from(*day).ok()).collect()
    }

    fn text(&self) -> String {
        "days that rise and stay before the horizon".to_owned()
    }

    fn written(&self, value: &Vec<u32>) -> String {
        format!("{value:?}")
    }
}

/// Causes; [`control_causes`] checks them against the list of the settings.
pub struct Causes;

impl Range for Causes {
    type Typed = Vec<String>;
    type Value = Vec<String>;

    fn read(&self, typed: &Vec<String>, _: &Place, _: &mut Problems) -> Vec<String> {
        typed.clone()
    }

    fn text(&self) -> String {
        "causes of the code list, each once".to_owned()
    }

    fn written(&self, value: &Vec<String>) -> String {
        format!("{value:?}")
    }
}

/// Inner cuts of the follow-up. The default ones are left out where a written horizon is shorter.
fn bands(days: Option<&[i64]>, horizon: u32, rules: &Place, problems: &mut Problems) -> Vec<u32> {
    let Some(days) = days else {
        let usual = Rules::default().bands_days;
        return usual.into_iter().filter(|day| *day < horizon).collect();
    };
    let mut cuts: Vec<u32> = Vec::new();
    for (index, &day) in days.iter().enumerate() {
        let above = cuts.last().copied().unwrap_or(0);
        match u32::try_from(day).ok().filter(|day| (above + 1..horizon).contains(day)) {
            Some(day) => cuts.push(day),
            None => {
                let wanted =
                    format!("expected a day after {above} and before the horizon ({horizon})");
                problems
                    .add(&rules.key("bands_days").index(index), format!("found {day}, {wanted}"));
            }
        }
    }
    cuts
}

/// Causes of the negative control. The default ones are left out where the settings' own list of
/// causes does not have them.
fn control_causes(
    typed: Option<&[String]>,
    causes: &[String],
    rules: &Place,
    problems: &mut Problems,
) -> Vec<String> {
    let listed = |cause: &String| causes.is_empty() || causes.contains(cause);
    let Some(typed) = typed else {
        return Rules::default().control_causes.into_iter().filter(listed).collect();
    };
    let place = rules.key("control_causes");
    words::list(typed, &place, problems);
    let known: Vec<&str> = causes.iter().map(String::as_str).collect();
    for (index, cause) in typed.iter().enumerate().filter(|(_, cause)| !listed(cause)) {
        words::one_of(cause, &known, &place.index(index), problems);
    }
    typed.to_vec()
}
