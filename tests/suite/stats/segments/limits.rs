//! Limits, identifiability, clusters, parts and first events of segment hazards.
//!
//! Expected values: closed forms of one segment, where the model is a binomial, and slower searches
//! written out here.

use motetrail::stats::clustered::{Resemblance, design_effect};
use motetrail::stats::segment_clusters::ClusterTrials;
use motetrail::stats::segment_first::{Path, first_events};
use motetrail::stats::segment_split::{common_factor, split_test};
use motetrail::stats::{ClusterSums, SegmentFit, SegmentRow, Warning};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::stats::cases::near;

const LEVEL: f64 = 0.95;
/// Chi-square with one degree of freedom at 0.95, from tables.
const ALLOWED: f64 = 3.841_458_820_694_124;

fn row(exposure: &[f64], n: f64, events: f64) -> SegmentRow {
    SegmentRow { exposure: exposure.to_vec(), fixed: 0.0, n, events }
}

/// Twice the log-likelihood ratio of a share of events `p` of `n`.
fn binomial_deviance(n: f64, events: f64, p: f64) -> f64 {
    let term = |count: f64, at: f64| if count > 0.0 { count * (count / n / at).ln() } else { 0.0 };
    2.0 * (term(events, p) + term(n - events, 1.0 - p))
}

#[test]
fn limits_of_one_segment_are_those_of_a_share() {
    for (n, events) in [(20.0, 3.0), (400.0, 1.0), (1e12, 2e11), (50.0, 49.0)] {
        let fit = SegmentFit::of(&[row(&[1.0], n, events)], 1);
        let found = fit.interval(0, LEVEL, 1.0);
        near(found.chance.value.unwrap(), events / n, 1e-12, 1e-9, "chance");
        for limit in [found.chance.low.unwrap(), found.chance.high.unwrap()] {
            near(binomial_deviance(n, events, limit), ALLOWED, 2e-3, 1e-5, "deviance at a limit");
        }
        let wider = fit.interval(0, LEVEL, 4.0);
        let limit = wider.chance.high.unwrap();
        near(binomial_deviance(n, events, limit), 4.0 * ALLOWED, 8e-3, 1e-5, "widened deviance");
    }
}

#[test]
fn without_events_the_lower_limit_is_nothing_and_the_upper_is_of_the_profile() {
    let fit = SegmentFit::of(&[row(&[1.0], 30.0, 0.0)], 1);
    let found = fit.interval(0, LEVEL, 1.0);
    assert_eq!((found.hazard.value, found.hazard.low), (Some(0.0), Some(0.0)));
    // (1 - p)^30 = exp(-3.84 / 2).
    near(found.hazard.high.unwrap(), ALLOWED / 60.0, 1e-8, 0.0, "upper limit");
    assert_eq!(found.hazard.warnings, [Warning::Boundary]);
}

/// Events on a path of one segment cannot come from anywhere else.
#[test]
fn a_hazard_without_which_the_events_could_not_be_has_no_chance_of_being_zero() {
    let alone = SegmentFit::of(&[row(&[1.0], 1e9, 1.0)], 1);
    assert_eq!(alone.against_zero(0, 1.0), 0.0);
    // With a neighbour on the same path it could be that one's.
    let rows = [row(&[1.0, 1.0], 40.0, 3.0), row(&[0.0, 1.0], 40.0, 2.0)];
    let p = SegmentFit::of(&rows, 2).against_zero(0, 1.0);
    assert!(p > 0.05 && p <= 0.5, "{p}");
    assert_eq!(SegmentFit::of(&[row(&[1.0], 30.0, 0.0)], 1).against_zero(0, 1.0), 1.0);
}

#[test]
fn where_all_have_the_event_the_chance_is_one_and_the_hazard_has_no_upper_limit() {
    let fit = SegmentFit::of(&[row(&[1.0], 12.0, 12.0)], 1);
    let found = fit.interval(0, LEVEL, 1.0);
    assert!(fit.is_certain(0) && fit.converged);
    assert_eq!((found.chance.value, found.chance.high), (Some(1.0), Some(1.0)));
    assert_eq!((found.hazard.value, found.hazard.high), (None, None));
    near(found.chance.low.unwrap(), (-ALLOWED / 24.0_f64).exp(), 1e-8, 0.0, "lower limit");
}

/// The other hazard at its best for a fixed first one, by golden section.
fn profiled(rows: &[SegmentRow], first: f64) -> f64 {
    let value = |second: f64| -> f64 {
        let one = |row: &SegmentRow| {
            let whole = row.exposure[0] * first + row.exposure[1] * second;
            row.events * (1.0 - (-whole).exp()).ln() - (row.n - row.events) * whole
        };
        rows.iter().map(one).sum()
    };
    let (mut low, mut high) = (0.0, 5.0);
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..200 {
        let (a, b) = (high - golden * (high - low), low + golden * (high - low));
        if value(a) > value(b) { high = b } else { low = a }
    }
    value(low).max(value(0.0))
}

#[test]
fn limits_lose_what_is_allowed_with_the_neighbour_at_its_best() {
    let rows =
        [row(&[1.0, 0.0], 60.0, 9.0), row(&[0.0, 1.0], 15.0, 1.0), row(&[1.0, 1.0], 80.0, 19.0)];
    let fit = SegmentFit::of(&rows, 2);
    let found = fit.interval(0, LEVEL, 1.0).hazard;
    let best = profiled(&rows, found.value.unwrap());
    near(best, fit.log_likelihood(), 1e-9, 0.0, "top");
    for limit in [found.low.unwrap(), found.high.unwrap()] {
        near(2.0 * (best - profiled(&rows, limit)), ALLOWED, 1e-5, 0.0, "deviance at a limit");
    }
}

#[test]
fn segments_that_are_always_passed_together_are_one() {
    let rows = [row(&[1.0, 1.0, 0.0], 40.0, 8.0), row(&[1.0, 1.0, 1.0], 40.0, 12.0)];
    let fit = SegmentFit::of(&rows, 4);
    assert_eq!(fit.groups, [vec![0, 1], vec![2]]);
    assert_eq!((fit.group_of(1), fit.group_of(3)), (Some(0), None));
    near(fit.hazard(0), -(0.8_f64.ln()), 1e-9, 0.0, "sum");
    near(fit.hazard(1), -(0.7_f64 / 0.8).ln(), 1e-9, 0.0, "rest");
}

#[test]
fn what_the_design_leaves_open_has_limits_and_no_value() {
    // Two and three, or one and two: nothing tells the middle from its neighbours.
    let rows = [
        row(&[1.0, 1.0, 0.0, 0.0], 50.0, 10.0),
        row(&[0.0, 1.0, 1.0, 0.0], 50.0, 15.0),
        row(&[0.0, 0.0, 0.0, 1.0], 50.0, 5.0),
    ];
    let fit = SegmentFit::of(&rows, 4);
    let known: Vec<bool> = (0..4).map(|group| fit.is_identified(group)).collect();
    assert_eq!((known, fit.rank), (vec![false, false, false, true], 3));
    let middle = fit.interval(1, LEVEL, 1.0).hazard;
    assert_eq!((middle.value, middle.low), (None, Some(0.0)));
    // It cannot be more than the smaller of the sums allows.
    let first = fit.interval(0, LEVEL, 1.0).hazard;
    assert!(middle.high.unwrap() < 0.45 && middle.high.unwrap() > 0.2, "{middle:?}");
    assert!(first.high.unwrap() > first.low.unwrap());
    near(fit.interval(3, LEVEL, 1.0).chance.value.unwrap(), 0.1, 1e-9, 0.0, "alone");
}

/// The design tells the two apart, the counts do not: only patterns without an event do, and those
/// weigh the same.
#[test]
fn a_tie_between_patterns_without_events_leaves_both_open() {
    let rows =
        [row(&[1.0, 0.0], 10.0, 0.0), row(&[0.0, 1.0], 10.0, 0.0), row(&[1.0, 1.0], 30.0, 12.0)];
    let fit = SegmentFit::of(&rows, 2);
    assert!(!fit.is_identified(0) && !fit.is_identified(1));
    let untied =
        SegmentFit::of(&[row(&[1.0, 0.0], 11.0, 0.0), rows[1].clone(), rows[2].clone()], 2);
    assert!(untied.is_identified(0) && untied.is_zero(0));
}

#[test]
fn a_fixed_part_is_taken_from_the_hazard() {
    let fixed = SegmentRow { fixed: 0.1, ..row(&[1.0], 100.0, 30.0) };
    let fit = SegmentFit::of(&[fixed], 1);
    near(fit.hazard(0), -(0.7_f64.ln()) - 0.1, 1e-9, 0.0, "hazard");
    let more = SegmentRow { fixed: 0.5, ..row(&[1.0], 100.0, 30.0) };
    assert!(SegmentFit::of(&[more], 1).is_zero(0));
}

#[test]
fn clusters_of_one_segment_widen_as_a_clustered_share_does() {
    let counts = [(12u64, 5u64), (9, 0), (20, 2), (7, 6), (15, 3), (11, 1), (8, 0)];
    let mut sums = ClusterSums::default();
    let (mut n, mut events) = (0.0, 0.0);
    let mut trials = Vec::new();
    for (cluster, (own, dirty)) in (0..).zip(counts) {
        sums.add(own, dirty);
        (n, events) = (n + own as f64, events + dirty as f64);
        trials.push(ClusterTrials { cluster, row: 0, n: own as f64, events: dirty as f64 });
    }
    let fit = SegmentFit::of(&[row(&[1.0], n, events)], 1);
    let found = fit.inflation(&trials, LEVEL);
    // One degree of freedom less than the clusters of equal size that would say as much.
    let effective = (sums.n as f64).powi(2) / sums.sum_nn as f64;
    let alike = Resemblance { deff: design_effect(&sums).deff, df: effective - 1.0 };
    let wanted = alike.divisor(LEVEL);
    near(found.by_group[0], wanted, 0.0, 1e-7, "group");
    near(found.pooled, wanted, 0.0, 1e-7, "pooled");
    assert_eq!(found.clusters, [7]);
}

#[test]
fn a_factor_and_a_split_of_one_segment_are_those_of_two_shares() {
    let rows = [row(&[1.0], 80.0, 12.0), row(&[1.0], 60.0, 17.0)];
    let found = common_factor(&rows, &[false, true], 1, LEVEL, 1.0);
    let factor = (43.0_f64 / 60.0).ln() / (68.0_f64 / 80.0).ln();
    near(found.factor.value.unwrap(), factor, 0.0, 1e-6, "factor");
    let pooled = 29.0 / 140.0;
    let g = binomial_deviance(80.0, 12.0, pooled) + binomial_deviance(60.0, 17.0, pooled);
    let split = split_test(&rows, &[0, 1], 1, 1.0).unwrap();
    near(split.statistic, g, 1e-7, 0.0, "statistic");
    assert_eq!(split.df, 1);
    near(found.p.unwrap(), split.p, 1e-6, 0.0, "both tests are the same");
    let wider = split_test(&rows, &[0, 1], 1, 2.0).unwrap();
    near(wider.statistic, g / 2.0, 1e-7, 0.0, "over the inflation");
}

#[test]
fn parts_that_pass_nothing_in_common_are_not_compared() {
    let rows = [row(&[1.0, 0.0], 80.0, 12.0), row(&[0.0, 1.0], 60.0, 17.0)];
    assert_eq!(split_test(&rows, &[0, 1], 2, 1.0), None);
    let none = common_factor(
        &[row(&[1.0], 9.0, 0.0), row(&[1.0], 9.0, 3.0)],
        &[true, false],
        1,
        LEVEL,
        1.0,
    );
    assert_eq!((none.factor.value, none.p), (None, None));
}

#[test]
fn first_events_share_a_path_by_what_was_still_clean() {
    let paths = [Path { steps: vec![0, 2], events: 10.0 }, Path { steps: vec![1], events: 3.0 }];
    let found = first_events(&paths, &[0.3, 0.0, 0.5]);
    let any = 1.0 - (-0.8_f64).exp();
    near(found[0], 10.0 * (1.0 - (-0.3_f64).exp()) / any, 1e-12, 0.0, "first");
    near(found[2], 10.0 * (-0.3_f64).exp() * (1.0 - (-0.5_f64).exp()) / any, 1e-12, 0.0, "last");
    // Nothing lets dirt in there, and yet there is dirt: the path keeps it.
    near(found[1], 3.0, 1e-12, 0.0, "without a hazard");
}

fn count() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), Just(1.0), (1u32..60).prop_map(f64::from), Just(1e6), Just(1e12)]
}

fn any_row(count: impl Strategy<Value = f64>) -> impl Strategy<Value = SegmentRow> {
    let exposure = vec(prop_oneof![3 => Just(0.0), 4 => Just(1.0), 1 => 0.1..40.0_f64], 4);
    let share = prop_oneof![Just(0.0), Just(1.0), 0.0..1.0_f64];
    (exposure, prop_oneof![4 => Just(0.0), 1 => 0.0..0.2_f64], count, share).prop_map(
        |(exposure, fixed, n, share)| SegmentRow {
            exposure,
            fixed,
            n,
            events: (n * share).floor(),
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn whatever_goes_in_limits_are_in_order_and_numbers(rows in vec(any_row(count()), 0..7)) {
        let fit = SegmentFit::of(&rows, 4);
        prop_assert!(fit.log_likelihood().is_finite());
        let trials: Vec<ClusterTrials> = (0..rows.len())
            .map(|at| ClusterTrials { cluster: at as u64 / 2, row: at, n: rows[at].n, events: rows[at].events })
            .collect();
        let wider = fit.inflation(&trials, LEVEL);
        prop_assert!(wider.pooled >= 1.0 && wider.pooled.is_finite());
        for group in 0..fit.groups.len() {
            prop_assert!(wider.by_group[group] >= 1.0 && wider.by_group[group].is_finite());
            let found = fit.interval(group, LEVEL, wider.by_group[group]);
            let chance = [found.chance.low, found.chance.value, found.chance.high];
            let known: Vec<f64> = chance.into_iter().flatten().collect();
            prop_assert!(known.is_sorted() && known.iter().all(|p| (0.0..=1.0).contains(p)), "{:?}", found);
            let hazard: Vec<f64> =
                [found.hazard.low, found.hazard.value, found.hazard.high].into_iter().flatten().collect();
            prop_assert!(hazard.is_sorted() && hazard.iter().all(|x| x.is_finite()), "{:?}", found);
        }
        let part: Vec<bool> = (0..rows.len()).map(|at| at % 2 == 0).collect();
        let parts: Vec<usize> = (0..rows.len()).map(|at| at % 2).collect();
        let factor = common_factor(&rows, &part, 4, LEVEL, 1.0);
        let known: Vec<f64> = [factor.factor.low, factor.factor.value, factor.factor.high].into_iter().flatten().collect();
        prop_assert!(known.is_sorted() && known.iter().all(|x| x.is_finite() && *x > 0.0), "{:?}", factor);
        if let Some(split) = split_test(&rows, &parts, 4, 1.0) {
            prop_assert!((0.0..=1.0).contains(&split.p) && split.statistic.is_finite());
        }
    }

    #[test]
    fn the_order_of_rows_and_splitting_them_change_nothing(
        rows in vec(any_row((0u32..80).prop_map(f64::from)), 1..7), cut in 0.0..1.0_f64,
    ) {
        let mut halves: Vec<SegmentRow> = Vec::new();
        for row in rows.iter().rev() {
            let (n, events) = ((row.n * cut).floor(), (row.events * cut).floor());
            let n = n.max(events).min(row.n - (row.events - events));
            halves.push(SegmentRow { n, events, ..row.clone() });
            halves.push(SegmentRow { n: row.n - n, events: row.events - events, ..row.clone() });
        }
        let (whole, split) = (SegmentFit::of(&rows, 4), SegmentFit::of(&halves, 4));
        prop_assert_eq!(&whole.groups, &split.groups);
        // Hazards may trade where an exposure of 40 makes an event all but certain; the top may not.
        let (a, b) = (whole.log_likelihood(), split.log_likelihood());
        prop_assert!((a - b).abs() <= 1e-9 * (1.0 + a.abs()), "{} {}", a, b);
    }
}
