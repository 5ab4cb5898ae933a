//! Rows at the end of a table that are none of its records: totals and notes.

use super::columns::Columns;
use super::kind::Kind;
use super::seen::{Seen, Text};

/// First words of rows that sum up the rows above, in the languages of the trade.
const TOTALS: [&str; 26] = [
    "total",
    "totals",
    "subtotal",
    "grand total",
    "sum",
    "sums",
    "average",
    "mean",
    "count",
    "summe",
    "gesamt",
    "gesamtsumme",
    "mittelwert",
    "anzahl",
    "somme",
    "totaux",
    "moyenne",
    "suma",
    "totale",
    "totali",
    "somma",
    "media",
    "totaal",
    "som",
    "razem",
    "soma",
];
/// Most rows that can sum up.
const MOST: usize = 5;

/// How many of a table's last rows are totals or notes.
pub fn trailing(text: &Text, rows: &[Seen], columns: &Columns) -> usize {
    let least = usize::from(!rows.is_empty());
    rows.iter()
        .skip(least)
        .rev()
        .take(MOST)
        .take_while(|row| sums_up(text, row) || is_note(row, columns))
        .count()
}

fn sums_up(text: &Text, row: &Seen) -> bool {
    let cells = text.cells_of(row);
    let first = cells.iter().map(|cell| cell.trim()).find(|cell| !cell.is_empty());
    let word = first.unwrap_or_default().trim_end_matches([':', '.']).to_lowercase();
    TOTALS.contains(&word.as_str())
        || TOTALS.iter().any(|total| {
            word.strip_prefix(total).is_some_and(|rest| rest.starts_with([' ', ':', '(']))
                && row.filled < row.width
        })
}

/// A single text in the first cell of a broad table, where other rows hold more.
fn is_note(row: &Seen, columns: &Columns) -> bool {
    row.filled == 1
        && columns.width > 2
        && matches!(row.kind(0), Kind::Text | Kind::Odd | Kind::Word)
        && (columns.hard(0).is_some() || row.kind(0) == Kind::Text && row.gap)
}
