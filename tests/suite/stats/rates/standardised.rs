use crate::stats::reference::{Table, close, close_to, expected};
use motetrail::stats::cumulative_hazard::{
    Band, cumulative_hazard, cumulative_hazard_dispersed, hazard_curve,
};
use motetrail::stats::estimate::{Estimate, Warning};
use motetrail::stats::rate::garwood;
use motetrail::stats::standardised::{WeightedStratum, fay_feuer_dispersed};
use proptest::prelude::*;

/// Without scatter beyond chance.
fn fay_feuer(strata: &[WeightedStratum], level: f64) -> Estimate {
    fay_feuer_dispersed(strata, 1.0, level)
}

fn check(id: &str) {
    let table = Table::read("02_poisson_rates", &format!("{id}.csv"));
    let (d, t, w) = (table.numbers("count"), table.numbers("pop"), table.numbers("std"));
    let sets = table.text("set");
    let want = expected("02_poisson_rates", id);
    for (name, want) in want.as_object().unwrap() {
        // The case's weights are shares of the standard population.
        let total: f64 = (0..d.len()).filter(|&i| &sets[i] == name).map(|i| w[i]).sum();
        let strata: Vec<WeightedStratum> = (0..d.len())
            .filter(|&i| &sets[i] == name)
            .map(|i| WeightedStratum { weight: w[i] / total, events: d[i] as u64, exposure: t[i] })
            .collect();
        let got = fay_feuer(&strata, 0.95);
        close_to(got.value, &want["dsr"], 1e-8, 1e-15);
        close_to(got.low, &want["gamma_lower"], 1e-8, 1e-15);
        close_to(got.high, &want["gamma_upper"], 1e-8, 1e-15);
    }
}

#[test]
fn fay_feuer_matches_fay_and_feuer_1997_table_1() {
    check("dsr_down_syndrome");
}

#[test]
fn fay_feuer_matches_a_library_without_events_and_with_one() {
    check("dsr_zero");
}

#[test]
fn fay_feuer_of_one_stratum_is_garwood() {
    for events in [0, 1, 7, 1000, 1_000_000_000_000] {
        let got = fay_feuer(&[WeightedStratum { weight: 1.0, events, exposure: 3e5 }], 0.95);
        let want = garwood(events, 3e5, 0.95);
        close(got.low.unwrap(), want.low.unwrap(), 1e-9, 0.0);
        close(got.high.unwrap(), want.high.unwrap(), 1e-9, 0.0);
    }
}

#[test]
fn a_weighted_stratum_without_exposure_leaves_the_sum_unknown() {
    let known = WeightedStratum { weight: 0.5, events: 3, exposure: 10.0 };
    let unknown = WeightedStratum { weight: 0.5, events: 0, exposure: 0.0 };
    let got = fay_feuer(&[known, unknown], 0.95);
    assert_eq!((got.value, got.low, got.high), (None, None, None));
    assert_eq!(got.warnings, [Warning::Short]);
    let weightless = WeightedStratum { weight: 0.0, ..unknown };
    assert_eq!(fay_feuer(&[known, weightless], 0.95), fay_feuer(&[known], 0.95));
    assert_eq!(fay_feuer(&[], 0.95).warnings, [Warning::NoData]);
}

#[test]
fn cumulative_hazard_adds_width_times_rate() {
    let bands = [
        Band { width: 30.0, events: 3, exposure: 3_000.0 },
        Band { width: 60.0, events: 1, exposure: 4_000.0 },
        Band { width: 10.0, events: 0, exposure: 0.0 },
    ];
    let curve = hazard_curve(&bands, 1.0, 0.95);
    close(curve[0].value.unwrap(), 0.03, 1e-12, 0.0);
    close(curve[1].value.unwrap(), 0.045, 1e-12, 0.0);
    assert_eq!(curve[2].warnings, [Warning::Short]);
    assert_eq!(curve[1], cumulative_hazard(&bands[..2], 0.95));
    assert_eq!(curve[2], cumulative_hazard(&bands, 0.95));
    let scattered = hazard_curve(&bands, 2.0, 0.95);
    assert_eq!(scattered[1], cumulative_hazard_dispersed(&bands[..2], 2.0, 0.95));
    assert!(scattered[1].low < curve[1].low && scattered[1].high > curve[1].high);
    let strata = bands[..2]
        .iter()
        .map(|b| WeightedStratum { weight: b.width, events: b.events, exposure: b.exposure })
        .collect::<Vec<_>>();
    assert_eq!(curve[1].high, fay_feuer(&strata, 0.95).high);
}

proptest! {
    #[test]
    fn order_and_unit_of_strata_do_not_matter(
        rows in prop::collection::vec((0.01..9.0_f64, 0_u64..50, 0.1..1e4_f64), 1..12),
        unit in 1e-6..1e6_f64,
    ) {
        let stratum = |&(weight, events, exposure): &(f64, u64, f64)| {
            WeightedStratum { weight, events, exposure }
        };
        let strata: Vec<_> = rows.iter().map(stratum).collect();
        let other: Vec<_> = rows.iter().rev()
            .map(|&(w, d, t)| stratum(&(w * unit, d, t))).collect();
        let (a, b) = (fay_feuer(&strata, 0.9), fay_feuer(&other, 0.9));
        prop_assert!((b.high.unwrap() / unit / a.high.unwrap() - 1.0).abs() < 1e-9);
        prop_assert!((b.low.unwrap() / unit - a.low.unwrap()).abs() <= 1e-9 * a.low.unwrap());
        prop_assert!(a.low <= a.value && a.value <= a.high);
    }
}
