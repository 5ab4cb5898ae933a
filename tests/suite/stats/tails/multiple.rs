use crate::stats::reference::{Table, close};
use motetrail::stats::multiple::benjamini_hochberg;
use proptest::prelude::*;

#[test]
fn q_values_match_benjamini_hochberg_1995_section_4_and_edges() {
    for file in ["bh1995.csv", "multiple_edges.csv", "multiple_ties.csv"] {
        let table = Table::read("11_multiple_testing", file);
        let got = benjamini_hochberg(&table.numbers("p"));
        for (got, want) in got.iter().zip(table.numbers("bh")) {
            close(*got, want, 0.0, 1e-12);
        }
    }
}

#[test]
fn no_tests_and_no_numbers_are_no_trouble() {
    assert!(benjamini_hochberg(&[]).is_empty());
    assert_eq!(benjamini_hochberg(&[f64::NAN, 0.01]), [1.0, 0.02]);
}

proptest! {
    #[test]
    fn order_does_not_matter_and_q_is_at_least_p(p in prop::collection::vec(0.0..1.0_f64, 1..30)) {
        let q = benjamini_hochberg(&p);
        let back: Vec<f64> = p.iter().rev().copied().collect();
        let mut q_back = benjamini_hochberg(&back);
        q_back.reverse();
        prop_assert_eq!(&q, &q_back);
        prop_assert!(p.iter().zip(&q).all(|(p, q)| q >= p && *q <= 1.0));
    }
}
