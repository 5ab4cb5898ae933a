//! The rows of a sample as far as the shape of its tables needs them.

use super::kind::Kind;
use crate::tabular::RowFault;
use crate::tabular::text::cut::plain;
use crate::tabular::text::marks::{Cell, Marks};
use crate::tabular::text::mend::mended;
use crate::tabular::text::take::{Behind, Taken, take};

/// Columns whose kinds are kept with each row.
pub const KEPT: usize = 16;

/// A row that holds text.
#[derive(Clone, Copy, Debug, Default)]
pub struct Seen {
    /// Line where it begins, from 1.
    pub line: u64,
    /// Its bytes in the text.
    pub start: usize,
    pub end: usize,
    pub width: usize,
    /// Cells that hold text.
    pub filled: usize,
    /// The last cell holds none.
    pub blank_end: bool,
    /// Kinds of the first cells, four bits each.
    kinds: u64,
    pub fault: Option<RowFault>,
    /// A blank line stands before it.
    pub gap: bool,
}

impl Seen {
    /// The row with these cells.
    pub fn with_cells<'a>(self, cells: impl Iterator<Item = &'a [u8]>) -> Self {
        let (mut kinds, mut width, mut filled, mut last) = (u64::MAX, 0, 0, Kind::Missing);
        for cell in cells {
            last = if width < KEPT || cell.len() < KEPT { Kind::of(cell) } else { Kind::Text };
            filled += usize::from(last != Kind::Empty);
            if width < KEPT {
                kinds &= !((15 ^ last as u64) << (4 * width));
            }
            width += 1;
        }
        Self { width, filled, blank_end: last == Kind::Empty, kinds, ..self }
    }

    /// Kind of a cell, from 0.
    pub fn kind(&self, cell: usize) -> Kind {
        if cell >= KEPT {
            return Kind::Missing;
        }
        Kind::ALL.get((self.kinds >> (4 * cell) & 15) as usize).copied().unwrap_or(Kind::Missing)
    }
}

/// A text cut by some marks.
#[derive(Debug)]
pub struct Text<'a> {
    pub text: &'a str,
    pub marks: &'a Marks,
    /// Cells that a row should have, for rows that must be mended.
    pub width: usize,
    /// Bytes behind the text are known to exist.
    pub cut_off: bool,
}

/// Every row with text, and how many lines hold none.
pub struct AllSeen {
    pub rows: Vec<Seen>,
    pub blank_lines: u64,
}

impl Text<'_> {
    /// Looks at every row. The last one of a text that is cut off is left out.
    pub fn seen(&self) -> AllSeen {
        let bytes = self.text.as_bytes();
        let (mut rows, mut blank_lines, mut gap) = (Vec::new(), 0, false);
        let (mut at, mut line) = (0, 1);
        let mut cells = Vec::new();
        while let Some(taken) = self.taken(at, &mut cells) {
            let row = &bytes[at..at + taken.end];
            if row.trim_ascii().is_empty() && cells.len() <= 1 {
                (blank_lines, gap) = (blank_lines + 1, true);
            } else {
                rows.push(Seen {
                    line,
                    start: at,
                    end: at + taken.end,
                    gap,
                    ..self.look(row, &taken, &cells)
                });
                gap = false;
            }
            at += taken.next;
            line += taken.lines;
        }
        AllSeen { rows, blank_lines }
    }

    /// The row that begins at `at`.
    fn taken(&self, at: usize, cells: &mut Vec<Cell>) -> Option<Taken> {
        let bytes = self.text.as_bytes().get(at..).filter(|rest| !rest.is_empty())?;
        let longest = crate::tabular::LONGEST_ROW;
        let behind = match (bytes.len() > longest, self.cut_off) {
            (true, _) => Behind::TooFar,
            (false, true) => Behind::More,
            (false, false) => Behind::Nothing,
        };
        let seen = &bytes[..bytes.len().min(longest + 1)];
        let mut taken = take(seen, behind, self.marks, cells)?;
        if taken.goes_on {
            let rest = &bytes[taken.next..];
            let ends =
                crate::tabular::text::line_ends::line_end_from(rest, 0, true, self.marks.line_end);
            let next = ends.map_or(rest.len(), |(_, next)| next);
            taken.next += next;
            taken.lines += 1;
        }
        Some(taken)
    }

    fn look(&self, row: &[u8], taken: &Taken, cells: &[Cell]) -> Seen {
        let empty = Seen { fault: taken.fault, ..Seen::default() };
        if taken.fault.is_some() {
            return empty.with_cells(mended(row, self.marks, self.width).iter().map(Vec::as_slice));
        }
        empty.with_cells(cells.iter().map(|cell| &row[cell.start..cell.end]))
    }

    /// A row's bytes.
    pub fn bytes_of(&self, row: &Seen) -> &[u8] {
        &self.text.as_bytes()[row.start..row.end]
    }

    /// The texts of a row's cells.
    pub fn cells_of(&self, row: &Seen) -> Vec<String> {
        let bytes = &self.text.as_bytes()[row.start..row.end];
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        if row.fault.is_some() {
            return mended(bytes, self.marks, self.width).iter().map(|cell| text(cell)).collect();
        }
        let (bytes, cells) = self.cut(row);
        cells.iter().map(|cell| text(&bytes[cell.start..cell.end])).collect()
    }
    /// A row's bytes with the cells that the strict cut finds, quotes and escapes left out.
    pub fn cut(&self, row: &Seen) -> (Vec<u8>, Vec<Cell>) {
        let (mut bytes, mut cells) = (self.bytes_of(row).to_vec(), Vec::new());
        let taken = take(&bytes, Behind::Nothing, self.marks, &mut cells);
        if taken.is_some_and(|taken| taken.marked) {
            plain(&mut bytes, self.marks, &mut cells);
        }
        (bytes, cells)
    }
}
