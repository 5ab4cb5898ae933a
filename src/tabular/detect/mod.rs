//! Finds how a text file is written, with nothing given but its bytes: encoding, line ends,
//! separator, quotes, what stands before and behind the table, its header.
//!
//! Promises: the dialect found reads the main table with the strict reader as it is described
//! here; whatever is not certain is said as a doubt with its evidence; work is bounded by the sample,
//! whatever its bytes. Stops at the shape: what the columns mean is for others to say.

mod apart;
mod charset;
mod columns;
mod decimal;
mod doubts;
mod header;
mod kind;
mod layout;
mod line_ends;
mod otherwise;
mod score;
mod search;
mod seen;
mod table;
mod tail;
mod units;
mod write;

use columns::Columns;

use crate::settings::{Dialect, Separator};
use crate::tabular::RowFault;

pub use charset::GUESSED;
pub use table::{detect, detect_cut};
pub use write::{Written, write_row, write_table};

/// What is known of a file's bytes, unpacked.
#[derive(Clone, Debug, Default)]
pub struct Sample {
    /// Its beginning.
    pub head: Vec<u8>,
    /// The beginning is all of it.
    pub whole: bool,
    /// Its end, if the beginning is not all of it and the end can be had.
    pub tail: Option<Vec<u8>>,
}

/// How a file is written.
#[derive(Clone, Debug, Default)]
pub struct Detected {
    /// Reads the main table with the strict reader.
    pub dialect: Dialect,
    /// A byte order mark stands at the beginning.
    pub bom: bool,
    /// Line ends in the sample.
    pub line_ends: LineEnds,
    /// Lines before the main table that belong to no table, blank ones left out.
    pub preamble: Vec<Line>,
    /// The tables found, in the file's order.
    pub tables: Vec<Extent>,
    /// Which of them is meant: the largest. Of no use if there are none.
    pub main: usize,
    /// Line of the main table that holds units.
    pub units_row: Option<u64>,
    /// Lines behind the main table that belong to no table, blank ones left out; totals too.
    pub footers: Vec<Line>,
    /// Rows of the main table with more or fewer cells than it has columns; the first hundred.
    pub uneven: Vec<Uneven>,
    /// All of these in the sample.
    pub uneven_rows: u64,
    /// Rows of the main table that the strict reader refuses; the first hundred.
    pub faulty: Vec<Faulty>,
    /// Rows of the main table that are written with another separator; the first hundred.
    pub reread: Vec<Reread>,
    /// Lines of rows of the main table whose cells are all empty, at most 100: no records.
    pub empty_rows: Vec<u64>,
    /// Lines of the main table that repeat its header; the first hundred.
    pub repeated_headers: Vec<u64>,
    /// Lines without any text in the sample.
    pub blank_lines: u64,
    /// What is not certain.
    pub doubts: Vec<Doubt>,
    /// Rows at the end of the file, behind the sample, that are footers.
    last_rows: usize,
}

/// Line ends by kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LineEnds {
    /// Line feeds alone.
    pub lf: u64,
    /// Carriage returns with a line feed behind.
    pub crlf: u64,
    /// Carriage returns alone.
    pub cr: u64,
}

/// A line that is no part of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// From 1; none if only its distance from the file's end is known.
    pub line: Option<u64>,
    /// Its first 200 characters.
    pub text: String,
}

/// Where a table stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Extent {
    /// Line of its header, or of its first row if it has none; from 1.
    pub first_line: u64,
    /// Line where its last row begins; none: it goes on behind the sample.
    pub last_line: Option<u64>,
    /// Rows of the header, 0 to 4.
    pub header_rows: usize,
    /// The row behind the header holds units.
    pub units_row: bool,
    /// Data rows seen.
    pub rows: u64,
    /// Its columns.
    pub width: usize,
    /// Every row ends with a separator behind which nothing stands.
    pub trailing_separator: bool,
    /// Names of the columns: rows of the header joined by a blank, `column 1` and so on without.
    pub names: Vec<String>,
    /// What its columns hold.
    columns: Columns,
}

/// A row with too many or too few cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Uneven {
    /// Line of the text, from 1.
    pub line: u64,
    /// How many cells it has.
    pub cells: usize,
}

/// A row that the strict reader refuses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Faulty {
    /// Line of the text, from 1.
    pub line: u64,
    /// What is wrong with it.
    pub fault: RowFault,
}

/// A row that is written with another separator than its table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reread {
    /// Line of the text, from 1.
    pub line: u64,
    /// What seems to part its cells.
    pub separator: Separator,
}

/// Something that is not certain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// A plain sentence without its full stop.
    pub what: String,
    /// What it rests on: lines, counts, examples.
    pub evidence: String,
}

impl Doubt {
    fn new(what: impl Into<String>, evidence: impl Into<String>) -> Self {
        Self { what: what.into(), evidence: evidence.into() }
    }
}
