//! Takes one row, right or faulty, from the start of some bytes, and says where to go on.
//!
//! A quote that somebody forgot or wrote too much costs its own row and not what follows: reading
//! goes on at the line behind it.

use super::cut::cut;
use super::line_ends::{line_end_from, line_ends_in};
use super::marks::{Cell, Cut, Marks, Shape, returns};
use crate::settings::LineEnd;
use crate::tabular::row::RowFault;

/// A row taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Taken {
    /// Where its text ends.
    pub end: usize,
    /// Where the next row begins.
    pub next: usize,
    /// Line ends between its beginning and the next row.
    pub lines: u64,
    /// Some cell holds doubled quotes or escapes.
    pub marked: bool,
    pub fault: Option<RowFault>,
    /// The line goes on behind `next`: the rest of it is to be left out.
    pub goes_on: bool,
}

/// What is known of the bytes behind those at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Behind {
    /// There are none.
    Nothing,
    /// There may be some.
    More,
    /// There are some, but no row is allowed to reach so far.
    TooFar,
}

/// Takes the row at the start of `bytes`; none if more bytes are needed to know it.
#[inline]
pub fn take(bytes: &[u8], behind: Behind, marks: &Marks, cells: &mut Vec<Cell>) -> Option<Taken> {
    let last = behind == Behind::Nothing;
    match cut(bytes, last, marks, cells) {
        Cut::Row(shape) => Some(whole(bytes, shape, marks)),
        Cut::NeverClosed(open) => {
            Some(broken(bytes, last, open, RowFault::OpenQuote, marks, cells))
        }
        Cut::Unfinished { .. } if behind == Behind::More => None,
        Cut::Unfinished { open_quote } => {
            let fault = if last { RowFault::OpenQuote } else { RowFault::TooLong };
            Some(broken(bytes, last, open_quote.unwrap_or(bytes.len()), fault, marks, cells))
        }
    }
}

/// The row of that shape.
#[inline]
fn whole(bytes: &[u8], shape: Shape, marks: &Marks) -> Taken {
    let ends = match marks.escape.is_some() || shape.quoted {
        true => line_ends_in(&bytes[..shape.text_end], marks.line_end),
        false => 0,
    };
    Taken {
        end: shape.text_end,
        next: shape.next,
        lines: ends + 1,
        marked: shape.marked && !shape.untidy,
        fault: shape.untidy.then_some(RowFault::TextAfterQuote),
        goes_on: false,
    }
}

/// Takes bytes that are no row. Goes on at the first line after `from`, where the quote that is open
/// stands, so that it costs one line and not the rest of the file; else after the line that is too
/// long. Every byte is looked at a few times at most on that account: a quote that opens further
/// on ends the search for the one that closes.
#[cold]
fn broken(
    bytes: &[u8],
    last: bool,
    from: usize,
    fault: RowFault,
    marks: &Marks,
    cells: &mut Vec<Cell>,
) -> Taken {
    // What has been seen of a row too long is all that counts: bytes behind it are not known.
    let line_end = line_end_from(bytes, from, last, marks.line_end);
    let (stop, next) = line_end.unwrap_or((bytes.len(), bytes.len()));
    let lf = line_end.is_some() && marks.line_end == LineEnd::Lf;
    let end = stop - usize::from(lf && returns(bytes, from, stop));
    cells.retain(|cell| cell.end <= end);
    Taken {
        end,
        next,
        lines: line_ends_in(&bytes[..next], marks.line_end),
        marked: false,
        fault: Some(fault),
        goes_on: line_end.is_none(),
    }
}
