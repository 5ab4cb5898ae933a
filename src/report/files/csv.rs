//! Tables as CSV (RFC 4180, but lines end in LF): UTF-8, one heading line, an empty cell where nothing is known.

use super::digits;
use crate::measures::results::{Cells, Column};

/// What a spreadsheet may take for the beginning of a formula, full-width forms too (OWASP, CSV injection
/// [from memory]).
const RUNS: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];

/// The columns as CSV bytes. A real always has a point or an exponent, so that readers which guess types from the first
/// rows take its column for one of reals.
///
/// A word that a spreadsheet would run as a formula gets a leading apostrophe; numbers are never changed.
pub(in crate::report) fn csv(columns: &[Column]) -> Vec<u8> {
    let rows = columns.first().map_or(0, |column| column.cells.len());
    let heading: Vec<String> = columns.iter().map(|column| text(column.spec.name)).collect();
    let mut bytes = heading.join(",");
    bytes.push('\n');
    for row in 0..rows {
        for (place, column) in columns.iter().enumerate() {
            if place > 0 {
                bytes.push(',');
            }
            bytes.push_str(&cell(column, row));
        }
        bytes.push('\n');
    }
    bytes.into_bytes()
}

fn cell(column: &Column, row: usize) -> String {
    match &column.cells {
        Cells::Text(cells) => {
            cells.get(row).and_then(Option::as_deref).map(text).unwrap_or_default()
        }
        Cells::Integer(cells) => {
            cells.get(row).copied().flatten().map(|value| value.to_string()).unwrap_or_default()
        }
        Cells::Real(cells) => {
            cells.get(row).copied().flatten().map(digits::text).unwrap_or_default()
        }
    }
}

/// A text cell, harmless and quoted where it must be.
fn text(words: &str) -> String {
    let words = harmless(words);
    if words.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", words.replace('"', "\"\""))
    } else {
        words
    }
}

/// A text cell, with an apostrophe in front where a spreadsheet would run it as a formula.
pub fn harmless(words: &str) -> String {
    let runs = words.starts_with(RUNS);
    if runs { format!("'{words}") } else { words.to_owned() }
}
