//! Rows of cells, as every format gives them.

use std::io;

use super::text::marks::Cell;

/// Most bytes of a row, as UTF-8 and without its line end.
pub const LONGEST_ROW: usize = 1 << 20;

/// Why a row cannot be cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFault {
    /// Longer than [`LONGEST_ROW`].
    TooLong,
    /// A quote opens and none closes it.
    OpenQuote,
    /// Text stands between a closing quote and the next separator.
    TextAfterQuote,
    /// A line that is no JSON object.
    NoObject,
    /// A JSON object with a key twice.
    DoubleKey,
    /// JSON nested too deep.
    TooDeep,
}

/// One row of a table.
#[derive(Debug)]
pub struct Row<'a> {
    /// Line of the file where it begins, from 1.
    pub line: u64,
    /// Its bytes without the line end; of a row too long, its beginning.
    pub bytes: &'a [u8],
    /// Its cells; those of a faulty row are only good to be shown.
    pub cells: &'a [Cell],
    /// Why it cannot be used.
    pub fault: Option<RowFault>,
}

/// Rows of any format, in order.
pub trait TableRows {
    /// The next row, none at the end.
    ///
    /// # Errors
    /// When what the rows come from cannot be read.
    fn next_row(&mut self) -> io::Result<Option<Row<'_>>>;

    /// Where the next row begins, from 1: a line of text, a row of a sheet, a record's number + 1.
    fn line(&self) -> u64;
}
