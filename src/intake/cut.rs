//! Cuts one row of separated text into the ranges of its cells.
//!
//! A cell may stand in quotes, in which a doubled quote stands for one and separators and line
//! ends are text. A quote further inside a cell is text too. Lines end in LF or CRLF. Works on
//! bytes: separator, quote and line ends are ASCII, and no byte of a longer UTF-8 character is.

use memchr::{memchr, memchr2};

/// The two characters that cut.
#[derive(Clone, Copy, Debug)]
pub struct Marks {
    pub separator: u8,
    pub quote: u8,
}

/// Where a cell's text lies, without its quotes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    pub start: usize,
    pub end: usize,
    /// Holds doubled quotes.
    doubled: bool,
}

impl Cell {
    fn new(start: usize, end: usize, doubled: bool) -> Self {
        Self { start, end, doubled }
    }
}

/// What was cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// A whole row.
    Row(Shape),
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
    /// Some cell goes on after its closing quote.
    pub untidy: bool,
}

/// Cuts the row at the start of `bytes` into `cells`. `last` says that no bytes follow these.
pub fn cut(bytes: &[u8], last: bool, marks: Marks, cells: &mut Vec<Cell>) -> Cut {
    cells.clear();
    let (mut at, mut quoted, mut untidy) = (0, false, false);
    loop {
        let opened = bytes.get(at) == Some(&marks.quote);
        let closed = opened.then(|| closing(bytes, at + 1, marks.quote)).flatten();
        if opened && closed.is_none() {
            return Cut::Unfinished { open_quote: Some(at) };
        }
        let search = closed.map_or(at, |(quote, _)| quote + 1);
        let found = memchr2(marks.separator, b'\n', &bytes[search..]);
        if found.is_none() && !last {
            return Cut::Unfinished { open_quote: None };
        }
        let stop = found.map_or(bytes.len(), |offset| search + offset);
        let line_end = bytes.get(stop) != Some(&marks.separator);
        let text_end = stop - usize::from(line_end && returns(bytes, search, stop));
        let tidy = !opened || bytes[search..text_end].iter().all(|byte| *byte == b' ');
        cells.push(match closed {
            Some((end, doubled)) if tidy => Cell::new(at + 1, end, doubled),
            _ => Cell::new(at, text_end, false),
        });
        quoted |= opened;
        untidy |= !tidy;
        let next = bytes.len().min(stop + 1);
        if line_end {
            return Cut::Row(Shape { text_end, next, quoted, untidy });
        }
        at = next;
    }
}

/// Whether the text from `from` to a line end at `stop` ends in the line end's carriage return.
fn returns(bytes: &[u8], from: usize, stop: usize) -> bool {
    stop > from && bytes[stop - 1] == b'\r'
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

/// Makes one quote of every doubled one, in place. The bytes that this frees become blanks, so
/// that the row stays valid text as a whole.
pub fn undouble(bytes: &mut [u8], quote: u8, cells: &mut [Cell]) {
    for cell in cells.iter_mut().filter(|cell| cell.doubled) {
        let (mut from, mut to) = (cell.start, cell.start);
        while from < cell.end {
            bytes[to] = bytes[from];
            from += if bytes[from] == quote { 2 } else { 1 };
            to += 1;
        }
        bytes[to..cell.end].fill(b' ');
        cell.end = to;
        cell.doubled = false;
    }
}
