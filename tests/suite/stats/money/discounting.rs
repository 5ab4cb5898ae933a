//! Discounting against published values, and its closed forms against sums.

use motetrail::stats::discounting::{
    annuity, discounted, equivalent_flow, internal_rate, part_rate, recovered_after,
};
use motetrail::stats::never::quantile_of_times;
use proptest::prelude::*;

use crate::stats::cases::case;
use crate::stats::extremes::amount;
use crate::stats::reference;

const GROUP: &str = "14_money_bootstrap";

/// Net present value of flows of which each is an annuity of its own: one flow, after the periods before
/// it. That is how a purchase is valued.
fn worth(flows: &[f64], rate: f64) -> f64 {
    let later = (0..).zip(&flows[1..]).map(|(delay, flow)| flow * annuity(rate, 1, delay));
    flows[0] + later.sum::<f64>()
}

fn compare(id: &str) {
    let inputs = reference::case(GROUP, id)["inputs"].clone();
    let flows: Vec<f64> =
        inputs["cash_flows"].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect();
    let rate = inputs["rate"].as_f64().unwrap();
    let case = case(GROUP, id);
    let want = &case.expected;
    let now = worth(&flows, rate);
    case.near(now, &want["npv"], "npv");
    for (got, want) in
        discounted(&flows, rate).iter().zip(want["discounted_flows"].as_array().unwrap())
    {
        case.near(*got, want, "discounted flow");
    }
    let periods = flows.len() as u32 - 1;
    let equal = equivalent_flow(now, rate, periods).unwrap();
    case.near(equal, &want["equivalent_annual"], "equivalent annual");
    for (got, name) in [
        (recovered_after(&flows, 0.0), "simple_payback"),
        (recovered_after(&flows, rate), "discounted_payback"),
    ] {
        match got {
            Some(got) => case.near(got, &want[name], name),
            None => assert!(want[name].is_null(), "{id}: {name}"),
        }
    }
    // At an internal rate of return nothing is left.
    for root in want["irr_roots"].as_array().unwrap() {
        let left = worth(&flows, root.as_f64().unwrap());
        let scale: f64 = flows.iter().map(|flow| flow.abs()).sum();
        assert!(left.abs() < 1e-9 * scale, "{id}: {left}");
    }
}

/// Worth by the month: a price, then a level flow after some months, growing by the year, and what is left at the end.
fn monthly(price: f64, flow: f64, months: u32, first: u32, growth: f64, left: f64) -> Vec<f64> {
    let at = |month: u32| match month {
        0 => -price,
        month if month < first => 0.0,
        month => flow * (1.0 + growth).powi(((month - 1) / 12) as i32),
    };
    let mut flows: Vec<f64> = (0..=months).map(at).collect();
    flows[months as usize] += left;
    flows
}

/// The rate at which flows are worth nothing. Expected: numpy-financial 1.0.0 and pyxirr 0.10.8, which agree to 1e-15; the
/// first as printed in the documentation of numpy-financial's `irr`.
#[test]
fn the_internal_rate_is_that_of_two_general_libraries() {
    let documented = internal_rate(&[-100.0, 39.0, 59.0, 55.0, 20.0]).unwrap();
    assert!((documented - 0.280_948_421_159_961_1).abs() < 1e-12, "{documented}");
    let microscopes = internal_rate(&monthly(21_600.0, 615.0, 60, 1, 0.0, 0.0)).unwrap();
    assert!((microscopes - 0.019_574_301_354_751_91).abs() < 1e-12, "{microscopes}");
    // It is worth nothing at that rate.
    let flows = monthly(9_000.0, 420.0, 36, 4, 0.03, 500.0);
    let rate = internal_rate(&flows).unwrap();
    assert!(worth(&flows, rate).abs() < 1e-8);
}

/// The pump problem of Lorie & Savage (1955) has two rates, a gift and a loss have none.
#[test]
fn where_there_is_no_one_rate_none_is_given() {
    for flows in
        [&[-1_600.0, 10_000.0, -10_000.0][..], &[0.0, 5.0], &[-5.0, 0.0], &[], &[-1.0, 1e-9]]
    {
        assert_eq!(internal_rate(flows), None, "{flows:?}");
    }
}

#[test]
fn the_documented_examples_of_present_value() {
    compare("npv_docs_example");
    compare("npv_docs_second");
}

/// Lorie & Savage (1955): two internal rates, and a sum that returns to zero only to leave it again.
#[test]
fn two_internal_rates_and_no_payback() {
    compare("npv_multi_irr");
}

#[test]
fn what_never_pays_and_what_is_not_discounted() {
    compare("npv_never_pays");
    compare("npv_zero_rate");
}

#[test]
fn an_annuity_is_the_sum_of_its_discounted_flows() {
    for rate in [0.0, 1e-13, 1e-6, 0.004, 0.5] {
        for (periods, delay) in [(0, 0), (1, 0), (60, 0), (36, 5)] {
            let mut flows = vec![0.0; delay as usize + 1];
            flows.extend(vec![1.0; periods as usize]);
            let sum: f64 = discounted(&flows, rate).into_iter().sum();
            let closed = annuity(rate, periods, delay);
            assert!((sum - closed).abs() < 1e-9 * (1.0 + sum), "{rate} {periods} {delay}");
        }
    }
}

#[test]
fn twelve_months_at_the_months_rate_are_a_year_at_the_years() {
    for rate in [0.0, 0.01, 0.06, 1.0] {
        let month = part_rate(rate, 12);
        assert!(((1.0 + month).powi(12) - 1.0 - rate).abs() < 1e-12);
    }
}

#[test]
fn payback_is_straight_within_its_period() {
    assert_eq!(recovered_after(&[-10.0, 4.0, 4.0, 4.0], 0.0), Some(2.5));
    assert_eq!(recovered_after(&[0.0, 1.0], 0.0), Some(0.0));
    assert_eq!(recovered_after(&[-10.0, 10.0, -1.0, 2.0], 0.0), Some(2.5));
    assert_eq!(recovered_after(&[], 0.1), None);
}

#[test]
fn a_time_that_never_comes_is_later_than_any() {
    let times = [Some(3.0), None, Some(1.0), Some(2.0)];
    assert_eq!(quantile_of_times(&times, 0.25), Some(1.0));
    assert_eq!(quantile_of_times(&times, 0.5), Some(2.0));
    assert_eq!(quantile_of_times(&times, 0.75), Some(3.0));
    assert_eq!(quantile_of_times(&times, 0.76), None);
    assert_eq!(quantile_of_times(&[], 0.5), None);
}

proptest! {
    #[test]
    fn nothing_that_is_no_number_comes_out(
        flows in prop::collection::vec(amount(), 0..6), rate in amount(), periods in 0_u32..400,
    ) {
        prop_assert!(recovered_after(&flows, rate).is_none_or(f64::is_finite));
        prop_assert!(annuity(rate, periods, 7).is_finite());
        prop_assert!(equivalent_flow(1e12, rate, periods).is_none_or(f64::is_finite));
        prop_assert!(part_rate(rate, 12).is_finite());
    }
}
