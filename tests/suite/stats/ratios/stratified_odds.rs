//! The Mantel-Haenszel odds ratio, worked out by hand.

use motetrail::stats::stratified_odds::{TwoSides, error_over_units, stratified_odds};

fn sides(successes: f64, trials: f64, other_successes: f64, other_trials: f64) -> TwoSides {
    TwoSides { trials, successes, other_trials, other_successes }
}

#[test]
fn one_table_has_its_cross_product() {
    // 6 of 10 against 3 of 10: (6 x 7) / (4 x 3).
    assert!((stratified_odds(&[sides(6.0, 10.0, 3.0, 10.0)]).unwrap() - 3.5).abs() < 1e-12);
}

/// Odds 1 and 1/2 in one stratum, 4 and 2 in another: the ratio is 2 in both, and below 1 where they are thrown together.
#[test]
fn a_ratio_that_all_strata_share_is_found_whatever_their_sizes() {
    let strata = [sides(500.0, 1000.0, 10.0, 30.0), sides(8.0, 10.0, 400.0, 600.0)];
    assert!((stratified_odds(&strata).unwrap() - 2.0).abs() < 1e-12);
    let together = [sides(508.0, 1010.0, 410.0, 630.0)];
    assert!(stratified_odds(&together).unwrap() < 0.6);
}

#[test]
fn strata_that_say_nothing_change_nothing() {
    let told = sides(6.0, 10.0, 3.0, 10.0);
    let silent = [sides(5.0, 9.0, 0.0, 0.0), sides(4.0, 4.0, 7.0, 7.0), sides(0.0, 3.0, 0.0, 9.0)];
    let all: Vec<TwoSides> = silent.into_iter().chain([told]).collect();
    assert_eq!(stratified_odds(&all), stratified_odds(&[told]));
    assert_eq!(stratified_odds(&silent), None);
    assert_eq!(stratified_odds(&[]), None);
}

/// Two tools a side with ten trials each: 8 and 4 pass, against 5 and 5. With R = 12 x 10 / 40 and S = 10 x 8 / 40 the first
/// tool's part is 8 x 10 / 40 / R - 10 x 2 / 40 / S = 5 / 12, the second's its negative, the others' nothing.
#[test]
fn the_error_over_units_is_that_of_the_case_by_hand() {
    let strata = [sides(12.0, 20.0, 10.0, 20.0)];
    let own = [vec![(0, 10.0, 8.0)], vec![(0, 10.0, 4.0)]];
    let other = [vec![(0, 10.0, 5.0)], vec![(0, 10.0, 5.0)]];
    let found = error_over_units(&strata, &own, &other).unwrap();
    let expected = (2.0 * 2.0 * (5.0_f64 / 12.0).powi(2)).sqrt();
    assert!((found - expected).abs() < 1e-12, "{found} {expected}");
    // Tools that are alike say nothing of a difference between tools; one tool says nothing at all.
    let alike = [vec![(0, 10.0, 6.0)], vec![(0, 10.0, 6.0)]];
    assert!(error_over_units(&strata, &alike, &other).unwrap() < 1e-12);
    assert_eq!(error_over_units(&strata, &own[..1], &other), None);
    assert_eq!(error_over_units(&[], &own, &other), None);
}
