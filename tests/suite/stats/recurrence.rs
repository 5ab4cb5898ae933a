use super::cases::{case, near};
use super::reference::Table;
use motetrail::stats::dispersion::{Exposed, dispersion};
use motetrail::stats::estimate::Warning;
use motetrail::stats::power_law::{Watch, laplace, power_law};
use motetrail::stats::recurrence::{History, mean_cumulative};
use proptest::prelude::*;
use serde_json::json;
use std::collections::BTreeMap;

const GROUP: &str = "09_repairable";

pub fn histories(file: &str) -> Vec<History> {
    let rows = Table::read(GROUP, file).rows(&["id", "time", "status"]);
    let mut units: BTreeMap<u64, History> = BTreeMap::new();
    for row in rows {
        let unit = units.entry(row[0] as u64).or_default();
        unit.end = unit.end.max(row[1]);
        if row[2] == 1.0 {
            unit.events.push(row[1]);
        }
    }
    units.into_values().collect()
}

fn mean_cumulative_matches(id: &str) {
    let case = case(GROUP, id);
    let curve = mean_cumulative(&histories(&format!("{id}.csv")), 0.95);
    let data = Table::read(GROUP, &format!("{id}_expected.csv"));
    assert_eq!(data.numbers("time").len(), curve.len());
    for (i, point) in curve.iter().enumerate() {
        let want = |column: &str| json!(data.numbers(column)[i]);
        assert_eq!(json!(point.age), want("time"));
        assert_eq!(json!(point.at_risk as f64), want("at_risk"));
        assert_eq!(json!(point.events as f64), want("events"));
        case.near(point.mean.value.unwrap(), &want("mcf"), "mean");
        case.near(point.variance, &want("var_lawless_nadeau"), "variance");
        case.near(point.mean.low.unwrap(), &want("log_lower"), "low");
        case.near(point.mean.high.unwrap(), &want("log_upper"), "high");
    }
    assert_eq!(json!(curve.last().unwrap().mean.events), case.expected["n_events"]);
}

#[test]
fn mean_cumulative_matches_nelson_and_doganaksoy_1989_valve_seats() {
    mean_cumulative_matches("valve_seat");
}

#[test]
fn mean_cumulative_matches_fleming_and_harrington_1991_placebo_arm() {
    mean_cumulative_matches("cgd_placebo");
}

#[test]
fn mean_cumulative_matches_reference_with_ties_and_event_at_the_end() {
    mean_cumulative_matches("mcf_edges");
}

fn trend_matches(id: &str, watch: Watch) {
    let case = case(GROUP, id);
    let ages = Table::read(GROUP, &format!("{id}.csv")).numbers("failure_time");
    let test = laplace(&ages, watch).unwrap();
    case.near(test.u, &case.expected["laplace_u"], "u");
    case.near(test.p, &case.expected["laplace_p_two_sided"], "p");
    let fit = power_law(&ages, watch, 0.95);
    case.near(fit.shape.value.unwrap(), &case.expected["mle_beta"], "shape");
    case.near(fit.shape.low.unwrap(), &case.expected["beta_ci"][0], "low");
    case.near(fit.shape.high.unwrap(), &case.expected["beta_ci"][1], "high");
    case.near(fit.scale.unwrap(), &case.expected["mle_lambda"], "scale");
    case.near(fit.unbiased_shape.unwrap(), &case.expected["unbiased_beta"], "unbiased");
    case.near(fit.rate_at_end.unwrap(), &case.expected["intensity_at_T"], "rate");
}

#[test]
fn trend_matches_nist_handbook_ten_failures_until_1500_hours() {
    trend_matches("nist_power_law", Watch::Until(1500.0));
}

#[test]
fn trend_matches_developmental_test_ended_by_its_last_failure() {
    trend_matches("crow_developmental_test", Watch::LastEvent);
}

#[test]
fn no_event_tells_nothing_about_the_trend() {
    assert_eq!(laplace(&[], Watch::Until(5.0)), None);
    assert_eq!(laplace(&[3.0], Watch::LastEvent), None);
    let fit = power_law(&[], Watch::Until(5.0), 0.95);
    assert_eq!((fit.shape.value, fit.scale, fit.rate_at_end), (None, None, None));
    assert_eq!(fit.shape.warnings, [Warning::NoData]);
}

/// NIST/SEMATECH e-Handbook 6.3.3.1, 25 wafers: one stratum of unit exposures, whose statistic is
/// the sum of (c - 16)^2 / 16.
#[test]
fn dispersion_of_nist_wafers_is_their_index_of_dispersion() {
    let counts = Table::read("08_control_charts", "c_wafers_expected.csv").counts("c");
    let units: Vec<Exposed> =
        counts.iter().map(|c| Exposed { events: *c, exposure: 1.0 }).collect();
    let want: f64 = counts.iter().map(|c| (*c as f64 - 16.0).powi(2) / 16.0).sum();
    let got = dispersion(&[units]);
    near(got.chi_square, want, 1e-9, 0.0, "chi-square");
    near(got.phi.unwrap(), want / 24.0, 1e-9, 0.0, "phi");
}

/// Worked by hand: 3 and 1 events on equal exposure: (3-2)^2/2 + (1-2)^2/2 = 1; 6 on 1 and 0 on 2:
/// (6-2)^2/2 + 4^2/4 = 12. Chi-square 13 on 2 degrees: upper tail exp(-6.5).
#[test]
fn dispersion_adds_up_over_strata_and_skips_those_without_events() {
    let unit = |events, exposure| Exposed { events, exposure };
    let strata = [
        vec![unit(3, 5.0), unit(1, 5.0)],
        vec![unit(6, 1.0), unit(0, 2.0)],
        vec![unit(0, 9.0); 3],
        vec![],
    ];
    let got = dispersion(&strata);
    near(got.chi_square, 13.0, 1e-12, 0.0, "chi-square");
    assert_eq!((got.df, got.phi), (2, Some(6.5)));
    near(got.p, (-6.5_f64).exp(), 1e-12, 0.0, "p");
    assert_eq!(dispersion(&[]).phi, None);
}

fn history() -> impl Strategy<Value = History> {
    (0.0_f64..9.0, prop::collection::vec(0_u8..10, 0..6))
        .prop_map(|(end, ages)| History { end, events: ages.into_iter().map(f64::from).collect() })
}

/// A second formulation: every unit's contribution on its own, summed at each age.
fn variance_by_unit(units: &[History], age: f64) -> f64 {
    let mut ages: Vec<f64> =
        units.iter().flat_map(|u| u.events.iter().copied().filter(|t| *t <= u.end)).collect();
    ages.sort_by(f64::total_cmp);
    ages.dedup();
    let at =
        |u: &History, t: f64| u.events.iter().filter(|x| **x == t && t <= u.end).count() as f64;
    let of = |u: &History| -> f64 {
        let steps = ages.iter().filter(|t| **t <= age && **t <= u.end);
        let step = |t: &f64| {
            let n = units.iter().filter(|v| v.end >= *t).count() as f64;
            let mean = units.iter().map(|v| at(v, *t)).sum::<f64>() / n;
            (at(u, *t) - mean) / n
        };
        steps.map(step).sum()
    };
    units.iter().map(|u| of(u).powi(2)).sum()
}

proptest! {
    #[test]
    fn variance_is_that_of_the_units_own_contributions(units in prop::collection::vec(history(), 0..9)) {
        for point in mean_cumulative(&units, 0.95) {
            near(point.variance, variance_by_unit(&units, point.age), 1e-12, 1e-9, "variance");
            let e = &point.mean;
            prop_assert!(e.low <= e.value && e.value <= e.high);
        }
    }

    #[test]
    fn order_of_units_and_of_events_changes_nothing(mut units in prop::collection::vec(history(), 0..9)) {
        let plain = mean_cumulative(&units, 0.95);
        units.reverse();
        units.iter_mut().for_each(|u| u.events.reverse());
        for (a, b) in plain.iter().zip(mean_cumulative(&units, 0.95)) {
            prop_assert_eq!((a.age, a.at_risk, a.events), (b.age, b.at_risk, b.events));
            near(a.variance, b.variance, 1e-14, 1e-9, "variance");
        }
    }

    #[test]
    fn stretched_time_changes_no_trend(ages in prop::collection::vec(0.01_f64..1.0, 0..20), stretch in 1e-6_f64..1e9) {
        let longer: Vec<f64> = ages.iter().map(|t| t * stretch).collect();
        let (a, b) = (power_law(&ages, Watch::Until(1.0), 0.9), power_law(&longer, Watch::Until(stretch), 0.9));
        if let (Some(a), Some(b)) = (a.shape.value, b.shape.value) {
            near(a, b, 0.0, 1e-9, "shape");
        }
        prop_assert!(a.shape.low <= a.shape.value && a.shape.value <= a.shape.high);
    }

    #[test]
    fn dispersion_stays_finite(
        units in prop::collection::vec((prop_oneof![0_u64..5, Just(1_000_000_000_000)], prop_oneof![Just(0.0), 0.1_f64..9.0, Just(1e12)]), 0..9),
    ) {
        let units: Vec<Exposed> = units.iter().map(|(events, exposure)| Exposed { events: *events, exposure: *exposure }).collect();
        let got = dispersion(&[units]);
        prop_assert!(got.chi_square.is_finite() && (0.0..=1.0).contains(&got.p));
        prop_assert!(got.phi.is_none_or(f64::is_finite));
    }
}
