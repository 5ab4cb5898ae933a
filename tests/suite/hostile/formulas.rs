//! Cells that a spreadsheet would run as formulas.
//!
//! Source: OWASP, "CSV Injection": a cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage
//! return may be run when the file is opened.

use super::{FAULTS, JOINS, LOOKS, Place, named_by};

const FORMULAS: [&str; 7] = [
    "=cmd|' /C calc'!A1",
    "+1+cmd|'x'!A1",
    "-2+3",
    "@SUM(1+9)",
    "=1,2",
    "=HYPERLINK(\"http://a.example\",\"b\")",
    "\t=1+1",
];

/// The cells of a CSV text by RFC 4180.
fn cells(text: &str) -> Vec<String> {
    let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => cell.extend(letters.next()),
            '"' => quoted = !quoted,
            ',' | '\n' if !quoted => cells.push(std::mem::take(&mut cell)),
            _ => cell.push(letter),
        }
    }
    assert!(!quoted && cell.is_empty(), "the table does not end with a line");
    cells
}

#[test]
fn the_parser_of_this_test_reads_quotes_and_line_breaks() {
    assert_eq!(cells("a,\"b\"\"c,\nd\"\n,e\n"), ["a", "b\"c,\nd", "", "e"]);
}

#[test]
fn no_cell_of_a_written_table_is_run_by_a_spreadsheet() {
    let place = Place::new(&[LOOKS, JOINS, FAULTS]);
    named_by(&place, &FORMULAS);
    let done = place.review();
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let mut disarmed = 0;
    for (path, text) in place.written("csv") {
        if !path.starts_with(place.folder.join("out")) {
            continue;
        }
        for cell in cells(&text) {
            let runs = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            assert!(!runs || cell.parse::<f64>().is_ok(), "{}: {cell:?}", path.display());
            disarmed += usize::from(cell.starts_with("'=") || cell.starts_with("'@"));
        }
    }
    assert!(disarmed > 0, "no formula came as far as a table, so nothing was tried");
}
