//! Counts that vary more than Poisson: their scatter, and exact intervals on scaled counts.

use crate::stats::cases::near;
use crate::stats::reference::Table;
use motetrail::stats::cumulative_hazard::{Band, cumulative_hazard, cumulative_hazard_dispersed};
use motetrail::stats::estimate::{Estimate, Warning};
use motetrail::stats::quantile::chi_square_upper;
use motetrail::stats::rate::{
    garwood, garwood_dispersed, rate_ratio, rate_ratio_effective, rate_ratio_scaled,
};
use motetrail::stats::rate_change::{CountScatter, rate_change};
use motetrail::stats::shared_scatter::{Part, scatter};
use motetrail::stats::standardised::{WeightedStratum, fay_feuer_dispersed};
use proptest::prelude::*;

#[track_caller]
fn same(a: &Estimate, b: &Estimate) {
    for (a, b) in [(a.value, b.value), (a.low, b.low), (a.high, b.high)] {
        match (a, b) {
            (Some(a), Some(b)) => near(a, b, 1e-14, 1e-10, "limit"),
            _ => assert_eq!(a, b),
        }
    }
}

/// Where events and exposure over phi are whole, the interval is the plain one of those, which is
/// tested against outside values.
#[test]
fn limits_are_those_of_counts_and_exposure_over_phi() {
    same(&garwood_dispersed(20, 10.0, 2.0, 0.95), &garwood(10, 5.0, 0.95));
    same(&garwood_dispersed(0, 10.0, 4.0, 0.95), &garwood(0, 2.5, 0.95));
    let (wide, plain) =
        (rate_ratio_scaled(30, 7.0, 60, 9.0, 3.0, 0.95), rate_ratio(10, 7.0, 20, 9.0, 0.95));
    same(&wide.ratio, &plain.ratio);
    near(wide.p, plain.p, 1e-12, 1e-10, "p");
    let (wide, plain) =
        (rate_ratio_scaled(0, 7.0, 60, 9.0, 3.0, 0.95), rate_ratio(0, 7.0, 20, 9.0, 0.95));
    same(&wide.ratio, &plain.ratio);
    let (wide, plain) =
        (rate_ratio_scaled(60, 7.0, 0, 9.0, 3.0, 0.95), rate_ratio(20, 7.0, 0, 9.0, 0.95));
    same(&wide.ratio, &plain.ratio);
    assert_eq!(wide.ratio.warnings, [Warning::OneSided]);
    let strata = |by: u64| {
        [(0.2, 4, 100.0), (0.5, 2, 50.0), (0.3, 0, 80.0)].map(|(weight, events, exposure)| {
            WeightedStratum { weight, events: events / by, exposure: exposure / by as f64 }
        })
    };
    same(&fay_feuer_dispersed(&strata(1), 2.0, 0.95), &fay_feuer_dispersed(&strata(2), 1.0, 0.95));
    let bands = |by: u64| {
        [(7.0, 4, 100.0), (23.0, 2, 50.0)].map(|(width, events, exposure)| Band {
            width,
            events: events / by,
            exposure: exposure / by as f64,
        })
    };
    let wide = cumulative_hazard_dispersed(&bands(1), 2.0, 0.95);
    same(&wide, &cumulative_hazard(&bands(2), 0.95));
}

/// More events on a side never lower its limits, however much they scatter; and a change of the same counts
/// has the same limits.
#[test]
fn limits_of_a_ratio_grow_with_the_count_and_are_those_of_a_change() {
    for phi in [1.0, 1.4, 2.5, 5.0] {
        let at = |d1: u64| rate_ratio_scaled(d1, 2.0, 7, 3.0, phi, 0.95).ratio;
        let limits: Vec<Estimate> = (0..12).map(at).collect();
        assert!(limits.is_sorted_by(|a, b| a.high < b.high && a.low <= b.low), "{limits:?}");
        assert!(limits.is_sorted_by(|a, b| a.value < b.value));
    }
    for (d1, d0) in [(0, 3), (3, 0), (2, 9), (0, 1)] {
        let change = rate_change((d1, 2.0), (d0, 3.0), &CountScatter::default(), 0.95);
        let ratio = rate_ratio(d1, 2.0, d0, 3.0, 0.95);
        let limits = |of: &Estimate| (of.value, of.low, of.high);
        assert_eq!(limits(&change.ratio), limits(&ratio.ratio));
        near(change.p, ratio.p, 1e-9, 1e-7, "p");
    }
}

#[test]
fn less_scatter_than_chance_counts_as_chance_and_is_named_so() {
    for phi in [1.0, 0.2, -3.0, f64::NAN] {
        assert_eq!(garwood_dispersed(7, 3.0, phi, 0.95), garwood(7, 3.0, 0.95));
        assert_eq!(rate_ratio_scaled(7, 3.0, 9, 2.0, phi, 0.95), rate_ratio(7, 3.0, 9, 2.0, 0.95));
    }
    assert_eq!(garwood_dispersed(7, 3.0, 1.5, 0.95).method, "Garwood, over-dispersed");
    assert_eq!(garwood_dispersed(7, 3.0, f64::INFINITY, 0.95).value, Some(7.0 / 3.0));
}

fn part(cluster: u64, stratum: u64, events: u64, exposure: f64) -> Part {
    Part { cluster, stratum, events, exposure }
}

/// NIST/SEMATECH e-Handbook 6.3.3.1, 25 wafers of one exposure and a mean of 16: the index of dispersion.
#[test]
fn scatter_of_equal_units_of_one_stratum_is_pearsons() {
    let counts = Table::read("08_control_charts", "c_wafers_expected.csv").counts("c");
    let parts: Vec<Part> = (0..).zip(&counts).map(|(unit, c)| part(unit, 0, *c, 1.0)).collect();
    let pearson: f64 = counts.iter().map(|c| (*c as f64 - 16.0).powi(2) / 16.0).sum();
    let got = scatter(&parts);
    near(got.phi.unwrap(), pearson / 24.0, 1e-12, 1e-12, "phi");
    crate::stats::digits::second_way();
    near(got.p, chi_square_upper(pearson, 24.0), 0.02, 0.0, "p");
    assert_eq!((got.clusters, got.events), (25, 400));
}

/// Worked by hand. Stratum 0: 6 events, shares 1/3 and 2/3; stratum 1: 2 events, all in cluster 0 of
/// exposure 1, none in cluster 1 of exposure 1. Cluster 0: E = 2 + 1, O = 4 + 2, V = 6 x 2/9 + 1/2;
/// cluster 1: E = 4 + 1, O = 2, V the same. 18 / (2 x 11/6).
#[test]
fn a_clusters_strata_are_put_together_before_they_are_squared() {
    let parts = [part(0, 0, 4, 1.0), part(1, 0, 2, 2.0), part(0, 1, 2, 1.0), part(1, 1, 0, 1.0)];
    let got = scatter(&parts);
    near(got.phi.unwrap(), 18.0 / (2.0 * 11.0 / 6.0), 1e-12, 0.0, "phi");
    // Two clusters of equal weight: t with one degree of freedom, 12.706 against 1.960.
    let wider = (12.706_204_736_f64 / 1.959_963_985).powi(2);
    near(got.widened(0.95).unwrap(), got.phi.unwrap() * wider, 0.0, 1e-6, "widened");
}

/// Slow: every way in which the events of two strata can fall to three clusters, weighed by its chance.
#[test]
fn mean_of_the_scatter_is_one_over_all_ways_that_events_can_fall() {
    let exposure = [[1.0, 2.5, 0.5], [3.0, 1.0, 0.0]];
    let (mut mean, mut chance) = (0.0, 0.0);
    for first in ways(3) {
        for second in ways(2) {
            let weight = multinomial(first, exposure[0]) * multinomial(second, exposure[1]);
            if weight == 0.0 {
                continue;
            }
            let parts: Vec<Part> = (0..3)
                .flat_map(|c| {
                    [(0, first[c]), (1, second[c])].map(|(stratum, events)| {
                        part(c as u64, stratum, events, exposure[stratum as usize][c])
                    })
                })
                .collect();
            chance += weight;
            mean += weight * scatter(&parts).phi.unwrap();
        }
    }
    near(chance, 1.0, 1e-12, 0.0, "all ways");
    near(mean, 1.0, 1e-12, 0.0, "mean");
}

fn ways(events: u64) -> Vec<[u64; 3]> {
    let all = (0..=events).flat_map(|a| (0..=events - a).map(move |b| [a, b, events - a - b]));
    all.collect()
}

fn multinomial(counts: [u64; 3], exposure: [f64; 3]) -> f64 {
    let total: f64 = exposure.iter().sum();
    let factorial = |n: u64| (1..=n).map(|k| k as f64).product::<f64>();
    let all = factorial(counts.iter().sum());
    counts
        .iter()
        .zip(exposure)
        .fold(all, |chance, (n, t)| chance * (t / total).powi(*n as i32) / factorial(*n))
}

#[test]
fn nothing_that_could_vary_has_no_scatter() {
    for parts in [vec![], vec![part(0, 0, 5, 1.0)], vec![part(0, 0, 0, 1.0), part(1, 0, 0, 1.0)]] {
        let got = scatter(&parts);
        assert_eq!((got.phi, got.p, got.widened(0.95)), (None, 1.0, None));
    }
}

fn parts() -> impl Strategy<Value = Vec<Part>> {
    let one = (0_u64..6, 0_u64..3, 0_u64..9, 0.1_f64..9.0);
    prop::collection::vec(one.prop_map(|(c, s, d, t)| part(c, s, d, t)), 1..30)
}

proptest! {
    #[test]
    fn other_numbers_and_another_order_change_no_scatter(parts in parts()) {
        let mut other: Vec<Part> = parts
            .iter()
            .map(|p| Part { cluster: 77 - p.cluster, stratum: 9 - p.stratum, ..*p })
            .collect();
        other.reverse();
        let (a, b) = (scatter(&parts), scatter(&other));
        prop_assert_eq!((a.clusters, a.events), (b.clusters, b.events));
        if let (Some(x), Some(y)) = (a.phi, b.phi) {
            near(x, y, 1e-12, 1e-9, "phi");
            near(a.df, b.df, 1e-12, 1e-9, "df");
        }
    }

    #[test]
    fn parts_of_one_cluster_and_stratum_may_be_split(parts in parts()) {
        let halves = |p: &Part| [
            Part { events: p.events / 2, exposure: p.exposure / 2.0, ..*p },
            Part { events: p.events - p.events / 2, exposure: p.exposure / 2.0, ..*p },
        ];
        let split: Vec<Part> = parts.iter().flat_map(halves).collect();
        let (a, b) = (scatter(&parts), scatter(&split));
        if let (Some(x), Some(y)) = (a.phi, b.phi) {
            near(x, y, 1e-12, 1e-9, "phi");
        }
        prop_assert_eq!(a.phi.is_some(), b.phi.is_some());
    }

    #[test]
    fn more_scatter_never_narrows(d in 0_u64..300, e in 0_u64..300, phi in 1.0_f64..20.0) {
        let (plain, wide) = (garwood(d, 3.0, 0.95), garwood_dispersed(d, 3.0, phi, 0.95));
        prop_assert!(wide.low <= plain.low && wide.high >= plain.high);
        let plain = rate_ratio(d, 3.0, e, 2.0, 0.95);
        let wide = rate_ratio_scaled(d, 3.0, e, 2.0, phi, 0.95);
        if d > 0 || e > 0 {
            let above = |wide: Option<f64>, plain: Option<f64>| match (wide, plain) {
                (Some(wide), Some(plain)) => wide >= plain,
                (wide, plain) => wide.is_none() && plain.is_none(),
            };
            prop_assert!(wide.ratio.low <= plain.ratio.low);
            prop_assert!(above(wide.ratio.high, plain.ratio.high));
            // Near a ratio of 1 the tails of few events are of less equal size.
            prop_assert!(wide.p >= plain.p.min(0.9) - 1e-12);
        }
    }
}

/// Counts over a scatter are effective counts, whole or not.
#[test]
fn a_ratio_of_effective_counts_is_that_of_counts_over_their_scatter() {
    let want = rate_ratio_scaled(7, 3.0, 11, 5.0, 2.0, 0.95).ratio;
    same(&rate_ratio_effective((3.5, 3.0), (5.5, 5.0), 1.0, 0.95), &want);
    same(&rate_ratio_effective((7.0, 3.0), (11.0, 5.0), 2.0, 0.95), &want);
    // What is compared with being known ever better, limits close in on Garwood's at mid-P, which are inside the exact ones.
    let (near, far) = (1e9, garwood(7, 3.0, 0.95));
    let known = rate_ratio_effective((7.0, 3.0), (near, near), 1.0, 0.95);
    assert!(known.low > far.low && known.high < far.high, "{known:?} {far:?}");
}
