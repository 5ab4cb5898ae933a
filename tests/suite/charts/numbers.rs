//! Numbers as text.

use motetrail::charts::number::{count, decimals_of, fixed, magnitude, percent, supported, unit};

const GAP: &str = "\u{202f}";

#[test]
fn thousands_are_set_off_and_minus_is_a_minus() {
    assert_eq!(fixed(1234567.0, 0), format!("1{GAP}234{GAP}567"));
    assert_eq!(fixed(-1234.56, 1), format!("−1{GAP}234.6"));
    assert_eq!(fixed(999.0, 0), "999");
    assert_eq!(count(1000), format!("1{GAP}000"));
    assert_eq!(count(0), "0");
    assert_eq!(count(u64::MAX), format!("18{GAP}446{GAP}744{GAP}073{GAP}709{GAP}551{GAP}615"));
}

#[test]
fn what_rounds_to_zero_has_no_sign() {
    assert_eq!(fixed(-0.04, 1), "0.0");
    assert_eq!(fixed(-0.06, 1), "−0.1");
}

#[test]
fn what_is_no_number_is_a_dash() {
    assert_eq!(fixed(f64::NAN, 2), "–");
    assert_eq!(fixed(f64::INFINITY, 2), "–");
}

#[test]
fn per_cent_has_a_gap() {
    assert_eq!(percent(0.4149, 0), format!("41{GAP}%"));
    assert_eq!(percent(0.4149, 1), format!("41.5{GAP}%"));
}

#[test]
fn digits_are_no_finer_than_the_interval_supports() {
    // Width 48 000: two digits of it are thousands.
    assert_eq!(supported(41_273.0, 18_000.0, 66_000.0), format!("41{GAP}000"));
    // Width 0.13: two digits of it are hundredths.
    assert_eq!(supported(0.623_87, 0.55, 0.68), "0.62");
    assert_eq!(supported(0.5, 0.5, 0.5), "0.50");
}

#[test]
fn decimals_follow_the_step_of_an_axis() {
    for (step, decimals) in
        [(20.0, 0), (1.0, 0), (0.5, 1), (0.1, 1), (0.05, 2), (0.001, 3), (0.0, 0), (f64::NAN, 0)]
    {
        assert_eq!(decimals_of(step), decimals, "{step}");
    }
}

#[test]
fn large_amounts_take_a_larger_unit() {
    assert_eq!(magnitude(9_999.0), (1.0, ""));
    assert_eq!(magnitude(-41_000.0), (1e3, "k"));
    assert_eq!(magnitude(2.5e7), (1e6, "M"));
    assert_eq!(unit("k", "EUR a year"), "k EUR a year");
    assert_eq!(unit("", "EUR"), "EUR");
}
