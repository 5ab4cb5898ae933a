//! Rows that the strict reader refuses, as `write_table` writes them. What is expected is what a
//! person reads; no byte of text may be lost.

use std::io::Cursor;

use motetrail::tabular::detect::{Sample, detect, write_table};
use proptest::prelude::*;

/// A table around one row; what is written for that row, and whether it was mended.
fn around(row: &str) -> (Vec<String>, u64) {
    let before = "id,at,note,n\nA1,2025-01-02,\"fine, really\",1\nA2,2025-01-03,ok,2\n";
    let behind = "A4,2025-01-05,ok,4\nA5,2025-01-06,\"well, well\",5\nA6,2025-01-07,ok,6\n";
    let text = format!("{before}{row}\n{behind}");
    let detected = detect(&Sample { head: text.clone().into_bytes(), whole: true, tail: None });
    let mut out = Vec::new();
    let bytes = Box::new(Cursor::new(text.as_bytes()));
    let written = write_table(&detected, detected.main, bytes, &mut out).unwrap();
    let table = super::polluted_score::parsed(&String::from_utf8(out).unwrap());
    assert_eq!(table.len(), 7, "{table:?}");
    (table[3].clone(), written.mended)
}

#[test]
fn stray_quotes_stay_in_the_text_of_their_cell() {
    for (row, note) in [
        ("A3,2025-01-04,\"open,3", "\"open"),
        ("A3,2025-01-04,\"a, b\"\",3", "a, b\""),
        ("A3,2025-01-04,\"\"a, b\",3", "\"a, b"),
        ("A3,2025-01-04,\"a \"b\" c, d\",3", "a \"b\" c, d"),
        ("A3,2025-01-04,\"a\" b,3", "\"a\" b"),
    ] {
        let (cells, mended) = around(row);
        assert_eq!(cells, ["A3", "2025-01-04", note, "3"], "{row}");
        assert_eq!(mended, 1, "{row}");
    }
}

#[test]
fn a_stray_quote_before_a_quoted_cell_is_text() {
    let (cells, _) = around("\"A3,2025-01-04,\"a, b\",3");
    assert_eq!(cells, ["\"A3", "2025-01-04", "a, b", "3"]);
}

#[test]
fn rows_that_are_right_are_not_mended() {
    let (cells, mended) = around("A3,2025-01-04, \"a \"\"b\"\"\" ,3");
    assert_eq!((cells[2].as_str(), mended), ("a \"b\"", 0));
}

proptest! {
    #[test]
    fn no_letter_of_any_row_is_lost(row in "A3,2025-01-04,[xyz\", ]{0,20},3") {
        let (cells, _) = around(&row);
        let letters = |text: &str| text.chars().filter(|c| c.is_alphanumeric()).collect::<String>();
        prop_assert_eq!(letters(&cells.concat()), letters(&row));
    }
}
