use crate::stats::reference::{Table, close};
use motetrail::stats::difference::newcombe;
use motetrail::stats::estimate::Warning;
use proptest::prelude::*;

#[test]
fn newcombe_matches_newcombe_1998_table_2_method_10() {
    let t = Table::read("01_binomial", "diff_newcombe_shared.csv");
    let column = |name: &str| t.numbers(name);
    let (x1, n1, x2, n2) = (column("x1"), column("n1"), column("x2"), column("n2"));
    for i in 0..x1.len() {
        let got = newcombe(x1[i], n1[i], x2[i], n2[i], column("conf")[i]);
        close(got.value.unwrap(), column("diff")[i], 0.0, 1e-9);
        close(got.low.unwrap(), column("newcombe_lower")[i], 0.0, 1e-9);
        close(got.high.unwrap(), column("newcombe_upper")[i], 0.0, 1e-9);
    }
}

#[test]
fn difference_without_units_on_a_side_is_the_whole_range() {
    let got = newcombe(3.0, 5.0, 0.0, 0.0, 0.95);
    assert_eq!((got.value, got.low, got.high), (None, Some(-1.0), Some(1.0)));
    assert_eq!(got.warnings, [Warning::NoData]);
}

proptest! {
    #[test]
    fn swapping_sides_turns_the_sign(a in 0.0..50.0_f64, b in 0.0..50.0_f64) {
        let ab = newcombe(a, 50.0, b, 60.0, 0.95);
        let ba = newcombe(b, 60.0, a, 50.0, 0.95);
        prop_assert!((ab.low.unwrap() + ba.high.unwrap()).abs() < 1e-12);
        prop_assert!((ab.value.unwrap() + ba.value.unwrap()).abs() < 1e-12);
    }
}
