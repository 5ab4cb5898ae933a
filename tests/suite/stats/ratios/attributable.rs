use crate::stats::reference::{case, close_to, expected};
use motetrail::stats::attributable::*;
use motetrail::stats::estimate::Estimate;
use motetrail::stats::evalue::{EValue, e_value, e_values};
use motetrail::stats::rate::rate_ratio;

const GROUP: &str = "03_attributable_evalue";

#[test]
fn fractions_match_boice_and_monson_1977_and_a_protective_exposure() {
    for id in ["af_fluoroscopy", "af_protective"] {
        let case = case(GROUP, id);
        let number = |name: &str| case["inputs"][name].as_f64().unwrap();
        let (d1, t1) = (number("exposed_events") as u64, number("exposed_time"));
        let (d0, t0) = (number("unexposed_events") as u64, number("unexposed_time"));
        let want = &case["expected"];
        // The case's interval is the normal one of the log of the ratio.
        let ratio = (number("exposed_events") / t1) / (number("unexposed_events") / t0);
        let error = (1.0 / number("exposed_events") + 1.0 / number("unexposed_events")).sqrt();
        let limit = |sign: f64| Some(ratio * (sign * 1.959_963_984_540_054 * error).exp());
        let found = rate_ratio(d1, t1, d0, t0, 0.95).ratio;
        let exposed = exposed_fraction(&Estimate { low: limit(-1.0), high: limit(1.0), ..found });
        close_to(exposed.value, &want["af_exposed"], 1e-9, 0.0);
        close_to(exposed.low, &want["af_exposed_lower"], 1e-9, 0.0);
        close_to(exposed.high, &want["af_exposed_upper"], 1e-9, 0.0);
    }
}

#[test]
fn an_unbounded_ratio_has_a_fraction_of_at_most_one() {
    let got = exposed_fraction(&rate_ratio(5, 10.0, 0, 10.0, 0.95).ratio);
    assert_eq!((got.value, got.high), (None, Some(1.0)));
    let got = exposed_fraction(&rate_ratio(0, 10.0, 5, 10.0, 0.95).ratio);
    assert_eq!((got.value, got.low), (None, None));
}

#[test]
fn e_values_match_vanderweele_and_ding_2017() {
    for row in expected(GROUP, "evalue")["rows"].as_array().unwrap() {
        let number = |name: &str| row[name].as_f64();
        let ratio = Estimate {
            value: number("rr"),
            low: number("lower"),
            high: number("upper"),
            level: 0.95,
            n: 0.0,
            events: 0,
            method: "",
            warnings: vec![],
        };
        let got = e_values(&ratio);
        close_to(got.point, &row["evalue_point"], 1e-9, 1e-12);
        close_to(got.limit, &row["evalue_limit_nearest_null"], 1e-9, 1e-12);
    }
}

#[test]
fn e_value_of_a_reciprocal_is_the_same_and_of_nothing_is_none() {
    assert_eq!(e_value(0.25), e_value(4.0));
    assert_eq!((e_value(0.0), e_value(f64::NAN), e_value(1e308)), (None, None, None));
    let nothing = rate_ratio(0, 1.0, 0, 1.0, 0.95).ratio;
    assert_eq!(e_values(&nothing), EValue { point: None, limit: None });
}
