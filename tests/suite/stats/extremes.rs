//! Nothing that is not a number comes out, whatever goes in.

use motetrail::stats::attributable::exposed_fraction;
use motetrail::stats::clustered::{ClusterSums, Resemblance, design_effect, effective_share};
use motetrail::stats::competing::{Step, aalen_johansen};
use motetrail::stats::cumulative_hazard::{Band, hazard_curve};
use motetrail::stats::estimate::Estimate;
use motetrail::stats::evalue::e_values;
use motetrail::stats::mantel_haenszel::mantel_haenszel;
use motetrail::stats::person_time::PersonTime;
use motetrail::stats::proportion::wilson;
use motetrail::stats::random_effects::random_effects;
use motetrail::stats::rate::{garwood, rate_ratio, rate_ratio_scaled};
use motetrail::stats::stratified_poisson::{StratifiedRow, stratified_poisson};
use proptest::prelude::*;

const HUGE: u64 = 1_000_000_000_000;

pub fn count() -> impl Strategy<Value = u64> {
    prop_oneof![Just(0), Just(1), Just(2), 3_u64..1000, Just(99_999), Just(1_000_001), Just(HUGE)]
}

pub fn amount() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(0.0),
        Just(1e-300),
        Just(1e-9),
        0.1..1e3_f64,
        Just(1e12),
        Just(1e300),
        Just(-1.0),
        Just(f64::NAN),
        Just(f64::INFINITY),
    ]
}

pub fn level() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => Just(0.95), 1 => Just(0.0), 1 => Just(1.0), 1 => Just(-3.0), 1 => Just(f64::NAN),
    ]
}

pub fn sound(e: &Estimate) -> bool {
    let finite = [e.value, e.low, e.high].iter().flatten().all(|x| x.is_finite());
    let ordered = |a: Option<f64>, b: Option<f64>| a.zip(b).is_none_or(|(a, b)| a <= b);
    finite && ordered(e.low, e.value) && ordered(e.value, e.high) && ordered(e.low, e.high)
}

fn person_time() -> impl Strategy<Value = PersonTime> {
    (count(), amount(), count(), amount()).prop_map(|(d1, t1, d0, t0)| PersonTime {
        d1,
        t1,
        d0,
        t0,
    })
}

proptest! {
    #[test]
    fn proportions_are_sound((a, n) in (amount(), amount()), level in level()) {
        prop_assert!(sound(&wilson(a, n, level)));
    }

    #[test]
    fn clustered_proportions_are_sound(
        rows in prop::collection::vec((count(), count()), 0..6), level in level(),
    ) {
        let mut sums = ClusterSums::default();
        rows.iter().for_each(|&(n, y)| sums.add(n, y));
        prop_assert!(sound(&effective_share(&sums, level)));
        let (deff, by) = (design_effect(&sums).deff, Resemblance::of(&sums).divisor(level));
        prop_assert!(deff >= 0.0 && by.is_finite() && by >= 1.0);
    }

    #[test]
    fn rates_are_sound(d in count(), t in amount(), level in level()) {
        prop_assert!(sound(&garwood(d, t, level)));
    }

    #[test]
    fn attributable_fractions_and_e_values_are_sound(s in person_time(), level in level()) {
        let ratio = rate_ratio(s.d1, s.t1, s.d0, s.t0, level).ratio;
        prop_assert!(sound(&exposed_fraction(&ratio)), "{:?}", exposed_fraction(&ratio));
        let values = e_values(&ratio);
        prop_assert!([values.point, values.limit].iter().flatten().all(|x| *x >= 1.0 && x.is_finite()));
    }

    #[test]
    fn rate_ratios_are_sound(s in person_time(), phi in amount(), level in level()) {
        for got in [
            rate_ratio(s.d1, s.t1, s.d0, s.t0, level),
            rate_ratio_scaled(s.d1, s.t1, s.d0, s.t0, phi, level),
        ] {
            prop_assert!(sound(&got.ratio), "{:?}", got);
            prop_assert!((0.0..=1.0).contains(&got.p));
        }
    }

    #[test]
    fn weighted_sums_are_sound(
        rows in prop::collection::vec((amount(), count(), amount()), 0..6), phi in amount(),
        level in level(),
    ) {
        let bands: Vec<Band> = rows.iter()
            .map(|&(width, events, exposure)| Band { width, events, exposure }).collect();
        let curve = hazard_curve(&bands, phi, level);
        prop_assert!(curve.iter().all(sound), "{:?}", curve);
    }

    #[test]
    fn stratified_ratios_are_sound(
        strata in prop::collection::vec(person_time(), 0..6), level in level(),
    ) {
        let got = mantel_haenszel(&strata, level);
        prop_assert!(sound(&got.ratio), "{:?}", got);
        prop_assert!((0.0..=1.0).contains(&got.test.p) && got.test.statistic.is_finite());
        prop_assert!(got.homogeneity.is_none_or(|h| h.statistic.is_finite()));
        let rows: Vec<StratifiedRow> = strata.iter().enumerate().flat_map(|(i, s)| {
            let row = |exposed, events, time| StratifiedRow {
                stratum: i as u64, cluster: i as u64, exposed, events, time,
            };
            [row(true, s.d1 as f64, s.t1), row(false, s.d0 as f64, s.t0)]
        }).collect();
        let got = stratified_poisson(&rows, level);
        prop_assert!(sound(&got.ratio), "{:?}", got);
        prop_assert!(got.p.is_none_or(|p| (0.0..=1.0).contains(&p)));
    }

    #[test]
    fn incidences_are_sound(
        rows in prop::collection::vec((count(), count(), count()), 0..6), level in level(),
    ) {
        let steps: Vec<Step> = rows.iter()
            .map(|&(events, other, censored)| Step { events, competing: vec![other], censored })
            .collect();
        for row in aalen_johansen(&steps, level).rows {
            prop_assert!(sound(&row.event) && sound(&row.competing[0]) && sound(&row.hazard));
            prop_assert!(row.event_se.is_finite() && row.survival >= 0.0);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn random_effects_are_sound(
        cells in prop::collection::vec(prop::collection::vec(person_time(), 0..3), 0..4),
        scale in amount(), level in level(),
    ) {
        let got = random_effects(&cells, scale, level);
        for e in got.cells.iter().flat_map(|c| [&c.ratio, &c.attributable]).chain([&got.mu, &got.tau]) {
            prop_assert!(sound(e), "{:?}", e);
            prop_assert!(e.value.is_some() && e.low.is_some() && e.high.is_some());
        }
        let mut u = 0.0;
        let draw = got.draw(&mut || { u = (u + 0.377) % 1.0; u });
        prop_assert!(draw.iter().all(|x| (-6.0..=6.0).contains(x)));
    }
}
