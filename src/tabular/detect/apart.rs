//! Headers whose rows stand apart.

use super::kind::Kind;
use super::seen::{KEPT, Seen, Text};

/// Whether a header whose upper row this is goes on behind an empty row: a fuller row above a sparser one, or titles of
/// groups of columns above all their names. Else what stands above is no part of the table.
pub fn goes_on(text: &Text, upper: &Seen, lower: &Seen) -> bool {
    let columns = 0..KEPT.min(upper.width);
    let is_under =
        |column: usize| lower.kind(column) == Kind::Empty || upper.kind(column) != Kind::Empty;
    let sparser = lower.filled > 0 && lower.filled < upper.filled && columns.clone().all(is_under);
    upper.width == lower.width
        && upper.filled > 1
        && (sparser || lower.filled == lower.width && spans(text, upper))
}

/// Whether each text of a row stands above two columns or more: said again, or followed by empty cells.
fn spans(text: &Text, row: &Seen) -> bool {
    let cells = text.cells_of(row);
    let (mut title, mut spans) = ("", Vec::new());
    for cell in cells.iter().map(|cell| cell.trim()) {
        match spans.last_mut() {
            Some(span) if cell.is_empty() || cell == title => *span += 1,
            None if cell.is_empty() => return false,
            _ => {
                title = cell;
                spans.push(1);
            }
        }
    }
    !spans.is_empty() && spans.iter().all(|span| *span > 1)
}
