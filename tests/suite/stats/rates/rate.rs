use crate::stats::reference::{Table, close, close_to, expected};
use motetrail::stats::estimate::Warning;
use motetrail::stats::rate::{garwood, rate_ratio};
use proptest::prelude::*;

#[test]
fn garwood_matches_two_libraries_from_none_to_a_million_events() {
    let t = Table::read("02_poisson_rates", "poisson_ci.csv");
    let column = |name: &str| t.numbers(name);
    let (events, exposure, conf) = (column("events"), column("exposure"), column("conf"));
    for i in 0..events.len() {
        let got = garwood(events[i] as u64, exposure[i], conf[i]);
        close(got.low.unwrap(), column("garwood_lower")[i], 1e-8, 1e-14);
        close(got.high.unwrap(), column("garwood_upper")[i], 1e-8, 1e-14);
        close(got.value.unwrap(), column("rate")[i], 1e-8, 1e-14);
    }
}

#[test]
fn rate_ratio_matches_rothman_and_greenland_1998_and_edges() {
    let want = expected("02_poisson_rates", "rate_ratio_fluoroscopy");
    for row in want["rows"].as_array().unwrap() {
        let number = |name: &str| row[name].as_f64().unwrap();
        let (d1, d0) = (number("x1") as u64, number("x0") as u64);
        let (t1, t0) = (number("t1"), number("t0"));
        let got = rate_ratio(d1, t1, d0, t0, number("conf"));
        close_to(got.p, &row["p_midp_twice_min"], 1e-8, 1e-12);
        // Mid-P halves the one point that is the tail: the exact limit at half the error.
        let half = rate_ratio(d1, t1, d0, t0, 0.5 + 0.5 * number("conf")).ratio;
        if d1 == 0 {
            assert_eq!((got.ratio.value, got.ratio.low), (Some(0.0), Some(0.0)));
            close_to(half.high, &row["exact_cond_upper"], 1e-8, 1e-12);
        } else if d0 == 0 {
            assert_eq!((got.ratio.value, got.ratio.high), (None, None));
            close_to(half.low, &row["exact_cond_lower"], 1e-8, 1e-12);
            assert_eq!(got.ratio.warnings, [Warning::OneSided]);
        } else {
            close_to(got.ratio.value, &row["rate_ratio"], 1e-8, 1e-12);
            close_to(got.ratio.low, &row["midp_lower"], 1e-8, 1e-12);
            close_to(got.ratio.high, &row["midp_upper"], 1e-8, 1e-12);
        }
    }
}

#[test]
fn large_counts_meet_the_exact_limits_at_the_change_of_formula() {
    // 100,000 events a side use the exact tails, one more the saddlepoint formula.
    let exact = rate_ratio(100_000, 1.0, 150_000, 1.0, 0.95);
    let formula = rate_ratio(100_001, 1.0, 150_000, 1.0, 0.95);
    let shift = 100_001.0 / 100_000.0;
    close(formula.ratio.low.unwrap(), exact.ratio.low.unwrap() * shift, 1e-7, 0.0);
    close(formula.ratio.high.unwrap(), exact.ratio.high.unwrap() * shift, 1e-7, 0.0);
    let exact = rate_ratio(100_000, 1.0, 100_800, 1.0, 0.95).p;
    let formula = rate_ratio(100_001, 1.0, 100_801, 1.0, 0.95).p;
    close(formula, exact, 1e-4, 0.0);
}

#[test]
fn nothing_observed_says_so() {
    let got = rate_ratio(0, 10.0, 0, 10.0, 0.95);
    assert_eq!((got.ratio.value, got.ratio.low, got.ratio.high, got.p), (None, None, None, 1.0));
    assert_eq!(got.ratio.warnings, [Warning::NoData]);
    assert_eq!(rate_ratio(3, 0.0, 1, 1.0, 0.95).ratio.warnings, [Warning::NoData]);
    assert_eq!(garwood(0, 0.0, 0.95).warnings, [Warning::NoData]);
}

proptest! {
    #[test]
    fn swapping_sides_inverts_the_ratio(d1 in 1_u64..3000, d0 in 1_u64..3000, t in 0.01..100.0_f64) {
        let ab = rate_ratio(d1, t, d0, 1.0, 0.95);
        let ba = rate_ratio(d0, 1.0, d1, t, 0.95);
        prop_assert!((ab.ratio.low.unwrap() * ba.ratio.high.unwrap() - 1.0).abs() < 1e-9);
        prop_assert!((ab.p - ba.p).abs() < 1e-9);
    }

    #[test]
    fn the_interval_leaves_out_one_just_when_p_is_small(d1 in 1_u64..200, d0 in 1_u64..200) {
        let got = rate_ratio(d1, 1.0, d0, 1.0, 0.95);
        let outside = got.ratio.low.unwrap() > 1.0 || got.ratio.high.unwrap() < 1.0;
        prop_assert_eq!(outside, got.p < 0.05);
    }
}
