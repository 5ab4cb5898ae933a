//! Cuts one row of separated text into the ranges of its cells.
//!
//! A cell may stand in quotes, in which separators and line ends are text and a doubled quote
//! stands for one. Blanks may stand around the quotes. A quote further inside a cell is text too.
//! With an escape character, the character behind it is text, in quotes and outside. Works on
//! bytes: every mark is ASCII or a whole character, and no byte of a longer UTF-8 character is ASCII.

use memchr::{memchr, memchr2};

use super::cut_any::cut_any;
use super::marks::{Cell, Cut, Marks, Shape, behind_blanks, is_blank, is_opening, returns};
use crate::settings::{LineEnd, Separator};

/// Cuts the row at the start of `bytes` into `cells`. `last` says that no bytes follow these.
#[inline]
pub fn cut(bytes: &[u8], last: bool, marks: &Marks, cells: &mut Vec<Cell>) -> Cut {
    match marks {
        Marks {
            separator: Separator::Byte(separator),
            quote: Some(quote),
            escape: None,
            line_end: LineEnd::Lf,
        } => cut_plain(bytes, last, (*separator, *quote), marks, cells)
            .map_or_else(|cut| cut, Cut::Row),
        _ => cut_any(bytes, last, marks, cells),
    }
}

/// The usual marks: one byte, quotes, lines that end in LF.
#[inline]
fn cut_plain(
    bytes: &[u8],
    last: bool,
    (separator, quote): (u8, u8),
    marks: &Marks,
    cells: &mut Vec<Cell>,
) -> Result<Shape, Cut> {
    cells.clear();
    let (mut at, mut quoted, mut marked, mut untidy) = (0, false, false, false);
    loop {
        let closed = quotes_at(bytes, at, separator, quote)?;
        let search = closed.map_or(at, |(_, close, _)| close + 1);
        let found = memchr2(separator, b'\n', &bytes[search..]);
        if found.is_none() && !last {
            return Err(Cut::Unfinished { open_quote: None });
        }
        let stop = found.map_or(bytes.len(), |offset| search + offset);
        let line_end = bytes.get(stop) != Some(&separator);
        let text_end = stop - usize::from(line_end && returns(bytes, search, stop));
        match closed {
            None => cells.push(Cell::new(at, text_end)),
            Some((open, close, doubled)) => {
                let tidy = is_blank(&bytes[search..text_end]);
                let (start, end) = if tidy { (open + 1, close) } else { (at, text_end) };
                cells.push(Cell::marked(start, end, doubled && tidy));
                (quoted, marked) = (true, marked | doubled);
                if !tidy && is_opening(&bytes[open + 1..close], marks) {
                    return Err(Cut::NeverClosed(open));
                }
                untidy |= !tidy;
            }
        }
        at = bytes.len().min(stop + 1);
        if line_end {
            return Ok(Shape { text_end, next: at, quoted, marked, untidy });
        }
    }
}

/// Quotes that open and close the cell at `at`, and whether doubled ones stand between; none if it
/// has none. Fails where nothing closes it.
#[inline]
fn quotes_at(
    bytes: &[u8],
    at: usize,
    separator: u8,
    quote: u8,
) -> Result<Option<(usize, usize, bool)>, Cut> {
    // Most cells begin with neither: nothing but their end is looked for.
    let open = match bytes.get(at) {
        Some(&first) if first == quote => at,
        Some(b' ') if separator != b' ' => {
            let open = behind_blanks(bytes, at);
            if bytes.get(open) != Some(&quote) {
                return Ok(None);
            }
            open
        }
        _ => return Ok(None),
    };
    let (close, doubled) =
        closing(bytes, open + 1, quote).ok_or(Cut::Unfinished { open_quote: Some(open) })?;
    Ok(Some((open, close, doubled)))
}

/// Where the quote that closes a cell stands, and whether doubled ones stand before it.
fn closing(bytes: &[u8], from: usize, quote: u8) -> Option<(usize, bool)> {
    let (mut from, mut doubled) = (from, false);
    loop {
        let at = from + memchr(quote, &bytes[from..])?;
        if bytes.get(at + 1) != Some(&quote) {
            return Some((at, doubled));
        }
        doubled = true;
        from = at + 2;
    }
}

/// Makes one quote of every doubled one and leaves out escapes, in place. The bytes that this frees
/// become blanks, so that the row stays valid text as a whole.
pub fn plain(bytes: &mut [u8], marks: &Marks, cells: &mut [Cell]) {
    for cell in cells.iter_mut().filter(|cell| cell.marked) {
        let (mut from, mut to) = (cell.start, cell.start);
        while from < cell.end {
            let byte = Some(bytes[from]);
            let pair = from + 1 < cell.end
                && (byte == marks.escape
                    || byte == marks.quote && bytes.get(from + 1) == byte.as_ref());
            from += usize::from(pair);
            bytes[to] = bytes[from];
            from += 1;
            to += 1;
        }
        bytes[to..cell.end].fill(b' ');
        cell.end = to;
        cell.marked = false;
    }
}
