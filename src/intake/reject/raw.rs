//! The text of a rejected row as it is kept: only what the map reads, without people's names, and not
//! too long.

use crate::intake::people::names::{MASK, Watch};
use crate::settings::Separator;
use crate::tabular::Row;

/// Most characters kept.
const KEPT: usize = 500;
/// What stands for a cell of a column that the map does not read.
const UNREAD: &str = "..";

/// What the map makes of a column of the export.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Use {
    /// It is read.
    Read,
    /// Nothing reads it.
    Unread,
    /// It holds people's names, whether it is read or not.
    People,
}

/// How a row of an export is shown.
#[derive(Clone, Copy, Debug)]
pub struct RawText<'a> {
    /// Of each column.
    pub uses: &'a [Use],
    pub separator: &'a Separator,
    pub quote: Option<u8>,
}

impl RawText<'_> {
    /// The row's cells as read, in quotes where they need them, cut at 500 characters. Cells of columns
    /// that nothing reads are left out, people's cells and every text that is a name by `watch`
    /// masked. Where a row has too many or too few cells, each is shown only if it could be no other;
    /// where it could not be cut, nothing of it is, unless all columns may be shown.
    pub fn of(&self, row: &Row, watch: &mut Watch) -> String {
        if row.fault.is_some() {
            return match self.uses.iter().max() {
                Some(Use::People) => MASK.to_owned(),
                Some(Use::Unread) => UNREAD.to_owned(),
                Some(Use::Read) | None => cut(row.bytes),
            };
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
            let hidden = |watch: &mut Watch| {
                let text = str::from_utf8(bytes);
                text.is_ok_and(|text| watch.hides(text.trim()))
            };
            match self.use_of(index, row.cells.len()) {
                Use::People => text.extend_from_slice(MASK.as_bytes()),
                Use::Unread => text.extend_from_slice(UNREAD.as_bytes()),
                Use::Read if hidden(watch) => text.extend_from_slice(MASK.as_bytes()),
                Use::Read => self.append(bytes, separator, &mut text),
            }
            if text.len() > 4 * KEPT {
                break;
            }
        }
        cut(&text)
    }

    /// What may be shown of a cell: the strictest of the columns that it may be of.
    fn use_of(&self, cell: usize, cells: usize) -> Use {
        let width = self.uses.len();
        let (missing, extra) = (width.saturating_sub(cells), cells.saturating_sub(width));
        let first = cell.saturating_sub(extra).min(width);
        let last = (cell + missing + 1).min(width);
        self.uses[first..last].iter().copied().max().unwrap_or(Use::Unread)
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
