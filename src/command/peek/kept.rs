//! Rows of a look that are kept, to see what columns say together.

use crate::draft::SampleRows;

/// Most cells that are kept, and bytes of their text.
const MOST_CELLS: usize = 300_000;
const MOST_BYTES: usize = 8 << 20;

/// Rows while they come in.
#[derive(Debug)]
pub struct Kept {
    rows: SampleRows,
    cells: usize,
    bytes: usize,
}

impl Kept {
    /// None yet, of these columns.
    pub fn of(names: &[String]) -> Self {
        let rows = SampleRows { names: names.to_vec(), rows: Vec::new() };
        Self { rows, cells: 0, bytes: 0 }
    }

    /// Keeps a row while there is room.
    pub fn row(&mut self, texts: &[&str]) {
        let texts = &texts[..texts.len().min(self.rows.names.len())];
        self.cells += texts.len();
        self.bytes += texts.iter().map(|text| text.len()).sum::<usize>();
        if self.cells <= MOST_CELLS && self.bytes <= MOST_BYTES {
            self.rows.rows.push(texts.iter().map(|text| text.trim().to_owned()).collect());
        }
    }

    /// The rows.
    pub fn finish(self) -> SampleRows {
        self.rows
    }
}
