//! The texts of one row that could be cut: checked as UTF-8, trimmed when asked for.

use memchr::memchr;

use super::row::Row;
use super::text::marks::Cell;

/// Why a row's bytes are no text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextFault {
    /// A byte that the encoding does not have at this place; its value and the cell, from 0.
    Byte(u8, usize),
    /// A NUL, in this cell, from 0.
    Nul(usize),
}

/// The cells of a row.
#[derive(Clone, Copy, Debug)]
pub struct Cells<'a> {
    text: &'a str,
    cells: &'a [Cell],
}

impl<'a> Cells<'a> {
    /// Checks a row's bytes.
    ///
    /// # Errors
    /// [`TextFault`] names the first byte that is no text.
    pub fn of(row: &Row<'a>) -> Result<Self, TextFault> {
        let holder = |at: usize| {
            let behind = row.cells.iter().position(|cell| cell.start > at);
            behind.unwrap_or(row.cells.len()).saturating_sub(1)
        };
        let text = match std::str::from_utf8(row.bytes) {
            Ok(text) => text,
            Err(error) => {
                let at = error.valid_up_to();
                return Err(TextFault::Byte(row.bytes[at], holder(at)));
            }
        };
        match memchr(0, row.bytes) {
            Some(at) => Err(TextFault::Nul(holder(at))),
            None => Ok(Self { text, cells: row.cells }),
        }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.cells.len()
    }

    /// The trimmed text of a cell; empty if there is none at that place.
    pub fn get(&self, index: usize) -> &'a str {
        let cell = self.cells.get(index);
        trimmed(cell.and_then(|cell| self.text.get(cell.start..cell.end)).unwrap_or_default())
    }

    /// Whether no cell holds any text.
    pub fn are_blank(&self) -> bool {
        (0..self.count()).all(|index| self.get(index).is_empty())
    }
}

/// Without blanks at both ends. Nearly every cell has none: two looks tell.
fn trimmed(text: &str) -> &str {
    match text.as_bytes() {
        [b'!'..=b'~'] | [b'!'..=b'~', .., b'!'..=b'~'] => text,
        _ => text.trim(),
    }
}
