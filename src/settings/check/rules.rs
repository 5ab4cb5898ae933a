//! `[rules]`: thresholds, each within what makes sense.
//!
//! A window of 0 switches its rule off where that is meaningful; what divides, opens or looks back
//! must be at least 1.

use super::words;
use crate::settings::place::Place;
use crate::settings::plan;
use crate::settings::problems::Problems;
use crate::settings::written;

/// A year in hours: no window of hours is longer.
const YEAR_HOURS: i64 = 8_784;
/// Ten years in days: no window of days is longer.
const DECADE_DAYS: i64 = 3_653;
/// A longer worklist is no worklist; candidates are kept for every cell, so it also bounds memory.
const MOST_WORKLIST_ROWS: i64 = 1_000;
/// No record is older: what is kept longer is kept for ever, by leaving the key out.
const MOST_KEPT_YEARS: u32 = 100;
/// Counts above this have no use as a threshold.
const MOST_COUNT: i64 = 1_000_000;

/// The rules; `causes` is the list that the control causes come from.
pub fn rules(
    written: Option<&written::Rules>,
    causes: &[String],
    place: &Place,
    problems: &mut Problems,
) -> plan::Rules {
    let absent = written::Rules::default();
    let typed = written.unwrap_or(&absent);
    let default = plan::Rules::default();
    // The field is the key, on both sides: a name typed once cannot drift.
    macro_rules! whole {
        ($name:ident, $low:expr, $high:expr) => {
            whole(typed.$name, default.$name, $low..=$high, &place.key(stringify!($name)), problems)
        };
    }
    macro_rules! real {
        ($name:ident, $low:expr, $high:expr) => {
            real(typed.$name, default.$name, $low, $high, &place.key(stringify!($name)), problems)
        };
    }
    let horizon_days = whole!(horizon_days, 1, DECADE_DAYS);
    plan::Rules {
        visit_gap_hours: whole!(visit_gap_hours, 1, YEAR_HOURS),
        coverage_window_hours: whole!(coverage_window_hours, 1, YEAR_HOURS),
        horizon_days,
        bands_days: bands(typed.bands_days.as_deref(), horizon_days, place, problems),
        ticket_lag_hours: whole!(ticket_lag_hours, 0, YEAR_HOURS),
        replaced_within_days: whole!(replaced_within_days, 0, DECADE_DAYS),
        merge_tickets_hours: whole!(merge_tickets_hours, 0, YEAR_HOURS),
        after_fault_days: whole!(after_fault_days, 0, DECADE_DAYS),
        reseat_hours: whole!(reseat_hours, 0, YEAR_HOURS),
        prompted_hours: whole!(prompted_hours, 0, YEAR_HOURS),
        open_fault_days: whole!(open_fault_days, 0, DECADE_DAYS),
        short_mating_days: whole!(short_mating_days, 0, DECADE_DAYS),
        look_back_months: whole!(look_back_months, 1, 120),
        level: real!(level, 0.5, 0.999),
        least_count: whole!(least_count, 1, MOST_COUNT),
        few_clusters: whole!(few_clusters, 2, MOST_COUNT),
        ratio_spread: real!(ratio_spread, 0.01, 10.0),
        silent_matings: whole!(silent_matings, 1, MOST_COUNT),
        worklist_rows: whole!(worklist_rows, 1, MOST_WORKLIST_ROWS),
        quarantine_limit: real!(quarantine_limit, 0.0, 1.0),
        strict: typed.strict.unwrap_or(default.strict),
        control_causes: control_causes(typed.control_causes.as_deref(), causes, place, problems),
        seed: seed(typed.seed, &place.key("seed"), problems),
        show_people: people(typed.people.as_deref(), &place.key("people"), problems),
        keep_years: typed.keep_years.map(|years| {
            let most = i64::from(MOST_KEPT_YEARS);
            words::whole(years, 1, most, &place.key("keep_years"), problems) as u32
        }),
        memory_mib: whole!(memory_mib, 16, 1_048_576),
        draws: whole!(draws, 100, 100_000),
    }
}

fn whole(
    number: Option<i64>,
    default: u32,
    range: std::ops::RangeInclusive<i64>,
    place: &Place,
    problems: &mut Problems,
) -> u32 {
    let Some(number) = number else { return default };
    let number = words::whole(number, *range.start(), *range.end(), place, problems);
    u32::try_from(number).unwrap_or(default)
}

fn real(
    number: Option<f64>,
    default: f64,
    low: f64,
    high: f64,
    place: &Place,
    problems: &mut Problems,
) -> f64 {
    let Some(number) = number else { return default };
    if !(low..=high).contains(&number) {
        problems.add(place, format!("found {number}, expected a number from {low} to {high}"));
    }
    number
}

/// Inner cuts of the follow-up. The default ones are left out where a written horizon is shorter.
fn bands(days: Option<&[i64]>, horizon: u32, rules: &Place, problems: &mut Problems) -> Vec<u32> {
    let Some(days) = days else {
        let usual = plan::Rules::default().bands_days;
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
        return plan::Rules::default().control_causes.into_iter().filter(listed).collect();
    };
    let place = rules.key("control_causes");
    words::list(typed, &place, problems);
    let known: Vec<&str> = causes.iter().map(String::as_str).collect();
    for (index, cause) in typed.iter().enumerate().filter(|(_, cause)| !listed(cause)) {
        words::one_of(cause, &known, &place.index(index), problems);
    }
    typed.to_vec()
}

fn seed(number: Option<i64>, place: &Place, problems: &mut Problems) -> u64 {
    let Some(number) = number else {
        return plan::Rules::default().seed;
    };
    words::whole(number, 0, i64::MAX, place, problems).unsigned_abs()
}

fn people(word: Option<&str>, place: &Place, problems: &mut Problems) -> bool {
    let choices = [("hide", false), ("show", true)];
    let shown = word.and_then(|word| words::choice(word, &choices, place, problems));
    shown.unwrap_or(plan::Rules::default().show_people)
}
