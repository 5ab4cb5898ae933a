//! What cuts text, and what is cut: the marks of a dialect, cells, the shape of a row.

use super::line_ends::line_ends_in;
use crate::settings::{Dialect, LineEnd, Separator};

/// What cuts text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Marks {
    pub separator: Separator,
    pub quote: Option<u8>,
    pub escape: Option<u8>,
    pub line_end: LineEnd,
}

impl Marks {
    /// Those of a dialect.
    pub fn of(dialect: &Dialect) -> Self {
        Self {
            separator: dialect.separator.clone(),
            quote: dialect.quote,
            escape: dialect.escape,
            line_end: dialect.line_end,
        }
    }

    /// Blanks before a cell are no part of the separator.
    pub(in crate::tabular) fn blanks_are_free(&self) -> bool {
        match &self.separator {
            Separator::Byte(separator) => *separator != b' ',
            Separator::Text(text) => !text.starts_with(' '),
            Separator::Blanks => false,
        }
    }
}

/// Where a cell's text lies, without its quotes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    pub start: usize,
    pub end: usize,
    /// Holds doubled quotes or escapes.
    pub(in crate::tabular) marked: bool,
}

impl Cell {
    /// A cell whose text stands there as it is.
    pub fn new(start: usize, end: usize) -> Self {
        Self { start, end, marked: false }
    }

    pub(in crate::tabular) fn marked(start: usize, end: usize, marked: bool) -> Self {
        Self { start, end, marked }
    }
}

/// What was cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// A whole row.
    Row(Shape),
    /// This quote opens a cell and nothing closes it: the next one opens a cell of a later line.
    NeverClosed(usize),
    /// The bytes end before the row does; if inside quotes, where these open.
    Unfinished { open_quote: Option<usize> },
}

/// The shape of a whole row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shape {
    /// Where its text ends.
    pub text_end: usize,
    /// Where the next row begins.
    pub next: usize,
    /// Some cell stands in quotes.
    pub quoted: bool,
    /// Some cell is in need of [`plain`].
    pub marked: bool,
    /// Some cell goes on after its closing quote.
    pub untidy: bool,
}

/// Where the run of blanks from `at` ends.
pub(in crate::tabular) fn behind_blanks(bytes: &[u8], at: usize) -> usize {
    bytes[at..].iter().position(|byte| *byte != b' ').map_or(bytes.len(), |run| at + run)
}

pub(in crate::tabular) fn is_blank(bytes: &[u8]) -> bool {
    bytes.iter().all(|byte| *byte == b' ')
}

/// Whether the text from `from` to a line end at `stop` ends in the line end's carriage return.
pub(in crate::tabular) fn returns(bytes: &[u8], from: usize, stop: usize) -> bool {
    stop > from && bytes[stop - 1] == b'\r'
}

/// Whether what was taken for the quote behind a cell's text opens a cell of a later line, so that
/// the quote before the text was never closed.
#[cold]
pub(in crate::tabular) fn is_opening(text: &[u8], marks: &Marks) -> bool {
    let quotes = text.iter().rev().take_while(|byte| Some(**byte) == marks.quote).count();
    let mut before = &text[..text.len() - quotes];
    while marks.blanks_are_free() && before.ends_with(b" ") {
        before = &before[..before.len() - 1];
    }
    let opens = match &marks.separator {
        Separator::Byte(byte) => before.ends_with(&[*byte]),
        Separator::Text(text) => {
            before.ends_with(text.as_bytes()) || before.ends_with(text.trim_end().as_bytes())
        }
        Separator::Blanks => before.ends_with(b"  ") || before.ends_with(b"\t"),
    };
    (opens || before.ends_with(b"\n") || before.ends_with(b"\r"))
        && line_ends_in(text, marks.line_end) > 0
}
