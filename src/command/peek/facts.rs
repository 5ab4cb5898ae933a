//! What `motetrail peek` found out about a file, ready to be printed. Texts are as the file has them:
//! printing makes them harmless.

use crate::tabular::profile::ColumnProfile;

/// Everything that is printed of one file.
#[derive(Clone, Debug, PartialEq)]
pub struct PeekFacts {
    /// Path as given.
    pub file: String,
    /// Bytes on the disk.
    pub bytes: u64,
    /// How it is packed, such as `gzip`; none if it is not.
    pub packing: Option<String>,
    /// What kind of file it is, such as `text` or `XLSX workbook, sheet "Looks"`.
    pub format: String,
    /// How much was looked at, if not all.
    pub sample: Option<String>,
    /// How its text is written; none for files that carry their own cells.
    pub text: Option<TextFacts>,
    /// Lines (rows, in a workbook) before the header.
    pub before_header: Lines,
    /// Rows of the header.
    pub header_rows: usize,
    /// Line of its first row; none without a header.
    pub header_line: Option<u64>,
    /// Line of a row of units.
    pub units_row: Option<u64>,
    /// Tables one under another, in their order.
    pub tables: Vec<TableFacts>,
    /// Lines behind the data that are no records: totals, footnotes.
    pub footers: Lines,
    /// Rows with too few or too many cells.
    pub uneven: Uneven,
    /// What the columns of the main table hold.
    pub columns: Vec<ColumnProfile>,
    /// What is not certain of the file as a whole; doubts on columns are in `columns`.
    pub doubts: Vec<DoubtFact>,
    /// Lines for the file's `[[source]]`, see `paste`; none if it is read by the defaults.
    pub settings: Vec<String>,
}

/// How text is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextFacts {
    /// Its character encoding.
    pub encoding: Told,
    /// What parts its cells.
    pub separator: Told,
    /// What quotes its cells.
    pub quote: Told,
    /// What makes the next character plain text.
    pub escape: Told,
    /// What ends its lines.
    pub line_ends: Told,
}

/// A finding in a few words, with what shows it, if anything needs to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Told {
    /// What was found.
    pub what: String,
    /// What shows it.
    pub evidence: Option<String>,
}

/// Lines that are no rows of the table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lines {
    /// How many there are.
    pub count: u64,
    /// The first few, each with its number in the file.
    pub first: Vec<(u64, String)>,
}

/// One table of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableFacts {
    /// Line of its first row, header included.
    pub from: u64,
    /// Line of its last row; none if it goes on behind what was looked at.
    pub to: Option<u64>,
    /// How many columns it has.
    pub columns: usize,
    /// Rows of data seen.
    pub rows: u64,
    /// The one that is read.
    pub main: bool,
}

/// Rows whose cells are not as many as the columns.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Uneven {
    /// How many there are.
    pub count: u64,
    /// The first few: line and cells.
    pub first: Vec<(u64, usize)>,
}

/// What is not certain, and what makes it so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DoubtFact {
    /// A plain sentence.
    pub what: String,
    /// What shows it.
    pub evidence: String,
}
