//! The text of a rejected row as it is kept: without people's names and not too long.

use crate::settings::Separator;
use crate::tabular::Row;

/// Most characters kept.
const KEPT: usize = 500;
/// What stands for a person's name.
const MASK: &str = "***";

/// How a row of an export is shown.
#[derive(Clone, Copy, Debug)]
pub struct RawText<'a> {
    /// Cells that hold people's names.
    pub people: &'a [usize],
    /// Cells that a row should have.
    pub width: usize,
    pub separator: &'a Separator,
    pub quote: Option<u8>,
}

impl RawText<'_> {
    /// The row's cells as read, in quotes where they need them, people masked, cut at 500
    /// characters. Where a row has too many or too few cells, every cell that may hold a name is
    /// masked; where it could not be cut, all of it.
    pub fn of(&self, row: &Row) -> String {
        if row.fault.is_some() {
            return if self.people.is_empty() { cut(row.bytes) } else { MASK.to_owned() };
        }
        let mut byte = [0];
        let separator = match self.separator {
            Separator::Byte(separator) => {
                byte[0] = *separator;
                &byte[..]
            }
            Separator::Text(text) => text.as_bytes(),
            Separator::Blanks => b"  ",
        };
        let mut text = Vec::new();
        for (index, cell) in row.cells.iter().enumerate() {
            if index > 0 {
                text.extend_from_slice(separator);
            }
            let bytes = &row.bytes[cell.start..cell.end];
            if self.may_be_person(index, row.cells.len()) {
                text.extend_from_slice(MASK.as_bytes());
            } else {
                self.append(bytes, separator, &mut text);
            }
            if text.len() > 4 * KEPT {
                break;
            }
        }
        cut(&text)
    }

    fn may_be_person(&self, cell: usize, cells: usize) -> bool {
        let (missing, extra) = (self.width.saturating_sub(cells), cells.saturating_sub(self.width));
        self.people
            .iter()
            .any(|&person| (person.saturating_sub(missing)..=person + extra).contains(&cell))
    }

    /// Appends a cell, in quotes where it holds what would cut it.
    fn append(&self, cell: &[u8], separator: &[u8], text: &mut Vec<u8>) {
        let cuts = |byte: &u8| separator.contains(byte) || b"\r\n".contains(byte);
        let quote = self.quote.filter(|quote| cell.iter().any(|b| b == quote || cuts(b)));
        let Some(quote) = quote else {
            text.extend_from_slice(cell);
            return;
        };
        text.push(quote);
        for &byte in cell {
            text.push(byte);
            if byte == quote {
                text.push(byte);
            }
        }
        text.push(quote);
    }
}

fn cut(bytes: &[u8]) -> String {
    let most = bytes.len().min(4 * KEPT);
    String::from_utf8_lossy(&bytes[..most]).chars().take(KEPT).collect()
}
