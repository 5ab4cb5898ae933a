use super::mantel_haenszel::strata;
use super::reference::{case, close_to, expected};
use motetrail::stats::attributable::*;
use motetrail::stats::estimate::{Estimate, Warning};
use motetrail::stats::evalue::{EValue, e_value, e_values};
use motetrail::stats::mantel_haenszel::mantel_haenszel;
use motetrail::stats::rate::{rate_ratio, rate_ratio_dispersed};

const GROUP: &str = "03_attributable_evalue";

#[test]
fn fractions_match_boice_and_monson_1977_and_a_protective_exposure() {
    for id in ["af_fluoroscopy", "af_protective"] {
        let case = case(GROUP, id);
        let number = |name: &str| case["inputs"][name].as_f64().unwrap();
        let (d1, t1) = (number("exposed_events") as u64, number("exposed_time"));
        let (d0, t0) = (number("unexposed_events") as u64, number("unexposed_time"));
        let want = &case["expected"];
        let exposed = exposed_fraction(&rate_ratio_dispersed(d1, t1, d0, t0, 1.0, 0.95).ratio);
        close_to(exposed.value, &want["af_exposed"], 1e-9, 0.0);
        close_to(exposed.low, &want["af_exposed_lower"], 1e-9, 0.0);
        close_to(exposed.high, &want["af_exposed_upper"], 1e-9, 0.0);
        let all = population_fraction(d1, t1, d0, t0, 0.95);
        close_to(all.value, &want["paf"], 1e-9, 0.0);
        close_to(all.low, &want["paf_lower_logdelta"], 1e-9, 0.0);
        close_to(all.high, &want["paf_upper_logdelta"], 1e-9, 0.0);
    }
}

#[test]
fn adjusted_fraction_matches_miettinen_1974_on_the_british_doctors() {
    let want = expected(GROUP, "paf_mh_doctors");
    let ratio = mantel_haenszel(&strata(GROUP, "paf_doctors.csv"), 0.95).ratio;
    close_to(ratio.value, &want["rr_mh"], 1e-10, 0.0);
    let share = want["p_cases_exposed"].as_f64().unwrap();
    close_to(population_fraction_adjusted(&ratio, share).value, &want["paf"], 1e-10, 0.0);
}

#[test]
fn an_unbounded_ratio_has_a_fraction_of_at_most_one() {
    let got = exposed_fraction(&rate_ratio(5, 10.0, 0, 10.0, 0.95).ratio);
    assert_eq!((got.value, got.high), (None, Some(1.0)));
    let got = exposed_fraction(&rate_ratio(0, 10.0, 5, 10.0, 0.95).ratio);
    assert_eq!((got.value, got.low), (None, None));
    assert_eq!(population_fraction(5, 1.0, 0, 1.0, 0.95).warnings, [Warning::OneSided]);
    assert_eq!(population_fraction(0, 1.0, 0, 1.0, 0.95).warnings, [Warning::NoData]);
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
