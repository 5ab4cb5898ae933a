//! Builds rows of cells for formats that are not cut from text, in buffers used again and again.

use super::row::{LONGEST_ROW, Row, RowFault};
use super::text::marks::Cell;

/// Most bytes kept of a row that is too long: enough to be shown.
const KEPT: usize = 4096;

/// The bytes and cells of one row. Between two cells stands a tab, for those who show the bytes.
#[derive(Debug, Default)]
pub struct RowBuffer {
    bytes: Vec<u8>,
    cells: Vec<Cell>,
    fault: Option<RowFault>,
}

impl RowBuffer {
    /// Forgets the row.
    pub fn clear(&mut self) {
        self.bytes.clear();
        self.cells.clear();
        self.fault = None;
    }

    /// How many cells it has.
    pub fn count(&self) -> usize {
        self.cells.len()
    }

    /// Adds a cell. A row that grows longer than [`LONGEST_ROW`] becomes faulty and takes no more
    /// text.
    pub fn push(&mut self, text: &[u8]) {
        if !self.cells.is_empty() && self.fault.is_none() {
            self.bytes.push(b'\t');
        }
        let mut text = text;
        if self.fault.is_some() {
            text = b"";
        } else if self.bytes.len() + text.len() > LONGEST_ROW {
            self.fault = Some(RowFault::TooLong);
            text = &text[..text.len().min(KEPT)];
        }
        let start = self.bytes.len();
        self.bytes.extend_from_slice(text);
        self.cells.push(Cell::new(start, self.bytes.len()));
    }

    /// Adds empty cells until there are `width`.
    pub fn pad(&mut self, width: usize) {
        while self.cells.len() < width {
            self.push(b"");
        }
    }

    /// Makes it a row that cannot be used, with `text` as its only cell.
    pub fn refuse(&mut self, text: &[u8], fault: RowFault) {
        self.clear();
        self.push(text);
        self.fault = Some(fault);
    }

    /// The row as it stands.
    pub fn row(&self, line: u64) -> Row<'_> {
        Row { line, bytes: &self.bytes, cells: &self.cells, fault: self.fault }
    }
}
