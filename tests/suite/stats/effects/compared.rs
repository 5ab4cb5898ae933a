//! The comparison as a whole: what it says of units made so that the answer is known.

use motetrail::stats::effects::compared::{PLACEBO, WHOLE, WITHOUT_QUARTER};
use motetrail::stats::effects::{Compared, Effort, Followed};

const EFFORT: Effort = Effort { level: 0.95, seed: 9, most: 4_999 };
const MONTHS: usize = 30;
const START: usize = 20;

/// Units of 1,000 a month whose shares are `.8` and a ripple of their own, three of ten begun.
fn cells(share: impl Fn(usize, usize) -> f64) -> (Vec<Vec<[f64; 3]>>, Vec<Option<usize>>) {
    let ripple = |unit: usize, month: usize| 0.004 * ((unit * 7 + month * 3) % 5) as f64;
    let cell = |unit: usize, month: usize| {
        [1000.0, 1000.0 * (0.8 + ripple(unit, month) + share(unit, month)), 800.0]
    };
    let of_unit = |unit: usize| (0..MONTHS).map(|month| cell(unit, month)).collect();
    let starts = (0..10).map(|unit| (unit < 3).then_some(START)).collect();
    ((0..10).map(of_unit).collect(), starts)
}

fn compared(cells: &[Vec<[f64; 3]>], starts: &[Option<usize>]) -> Compared {
    Compared::of_shares(&Followed { cells, starts, more_is_better: true }, EFFORT)
}

#[test]
fn a_step_at_the_start_is_the_change_and_nothing_shows_before_it() {
    let (cells, starts) = cells(|unit, month| if unit < 3 && month >= START { 0.05 } else { 0.0 });
    let compared = compared(&cells, &starts);
    let found = compared.over(WHOLE, false).unwrap();
    assert!((found.value - 0.05).abs() < 0.002, "{found:?}");
    // 120 ways, one as far out.
    assert_eq!(found.arrangements, 120);
    assert_eq!(found.p, 1.0 / 120.0);
    assert!(found.low.unwrap() > 0.04 && found.high.unwrap() < 0.06, "{found:?}");
    let doubts = compared.doubts();
    assert!(!doubts.not_parallel && !doubts.chosen_when_bad, "{doubts:?}");
    let placebo = compared.over(PLACEBO, false).unwrap();
    assert!(placebo.value.abs() < 0.005 && placebo.p > 0.05, "{placebo:?}");
    let months = compared.by_month(9);
    assert!(months.iter().all(|(month, _)| *month != 0));
    for (month, found) in months {
        let truth = if month > 0 { 0.05 } else { 0.0 };
        assert!((found.value - truth).abs() < 0.012, "{month}: {found:?}");
    }
    // Three and seven are too few to be resampled.
    assert_eq!(compared.resampled(), None);
}

#[test]
fn a_bad_quarter_before_the_start_is_flagged_and_without_it_there_is_no_change() {
    let bad = START - 3..START;
    let (cells, starts) =
        cells(|unit, month| if unit < 3 && bad.contains(&month) { -0.12 } else { 0.0 });
    let compared = compared(&cells, &starts);
    let doubts = compared.doubts();
    assert!(doubts.chosen_when_bad && doubts.quarter.unwrap() < -0.1, "{doubts:?}");
    assert_eq!(doubts.chosen_p, Some(1.0 / 120.0));
    // A quarter of the year before is bad: three hundredths of a false success.
    let whole = compared.over(WHOLE, false).unwrap();
    assert!((whole.value - 0.03).abs() < 0.005 && whole.p < 0.05, "{whole:?}");
    let without = compared.over(WITHOUT_QUARTER, false).unwrap();
    assert!(without.value.abs() < 0.005 && without.p > 0.05, "{without:?}");
}

#[test]
fn months_before_that_drift_apart_are_not_parallel() {
    let drift = |month: usize| -0.01 * (month as f64 - START as f64);
    let (cells, starts) = cells(|unit, month| if unit < 3 { drift(month) } else { 0.0 });
    let doubts = compared(&cells, &starts).doubts();
    assert!(doubts.not_parallel, "{doubts:?}");
}

#[test]
fn where_ten_began_and_ten_did_not_they_are_resampled_too() {
    let (mut cells, mut starts) =
        cells(|unit, month| if unit < 3 && month >= START { 0.05 } else { 0.0 });
    let (more, more_starts) = (cells.clone(), starts.clone());
    for _ in 0..3 {
        cells.extend(more.clone());
        starts.extend(more_starts.clone());
    }
    let [low, value, high] = compared(&cells, &starts).resampled().unwrap();
    let (low, value, high) = (low.unwrap(), value.unwrap(), high.unwrap());
    assert!(
        low <= value && value <= high && (0.045..0.055).contains(&value),
        "{low} {value} {high}"
    );
}

#[test]
fn what_moves_all_odds_alike_is_no_change_where_shares_differ() {
    // From the start on the odds of all units double; those that began are at .6, the others at .9.
    let share = |unit: usize, month: usize| {
        let odds: f64 = if unit < 3 { 1.5 } else { 9.0 };
        let odds = if month >= START { odds * 1.2 } else { odds };
        odds / (1.0 + odds)
    };
    let cells: Vec<Vec<[f64; 3]>> = (0..10)
        .map(|unit| (0..MONTHS).map(|month| [1000.0, 1000.0 * share(unit, month), 800.0]).collect())
        .collect();
    let starts: Vec<Option<usize>> = (0..10).map(|unit| (unit < 3).then_some(START)).collect();
    let found = compared(&cells, &starts).over(WHOLE, false).unwrap();
    let plain = (share(0, START) - share(0, 0)) - (share(9, START) - share(9, 0));
    assert!(plain > 0.02, "{plain}");
    assert!(found.value.abs() < 0.25 * plain, "{found:?} {plain}");
}
