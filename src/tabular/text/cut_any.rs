//! Cuts a row by marks of any kind. Slower than the cut of the usual ones, same contract.

use super::line_ends::line_end_at;
use super::marks::{Cell, Cut, Marks, Shape, behind_blanks, is_blank, is_opening, returns};
use crate::settings::{LineEnd, Separator};

/// Where a cell's text ends.
struct Stop {
    at: usize,
    /// Where the next cell or row begins.
    next: usize,
    line_end: bool,
}

/// Cuts the row at the start of `bytes` into `cells`. `last` says that no bytes follow these.
#[inline(never)]
pub fn cut_any(bytes: &[u8], last: bool, marks: &Marks, cells: &mut Vec<Cell>) -> Cut {
    cells.clear();
    let mut at = if marks.separator == Separator::Blanks { behind_blanks(bytes, 0) } else { 0 };
    let (mut quoted, mut marked, mut untidy) = (false, false, false);
    loop {
        let closed = match quotes_at(bytes, at, marks) {
            Ok(closed) => closed,
            Err(open) => return Cut::Unfinished { open_quote: Some(open) },
        };
        let search = closed.map_or(at, |(_, close, _)| close + 1);
        let mut escaped = false;
        let Some(stop) = stop_from(bytes, search, last, marks, &mut escaped) else {
            return Cut::Unfinished { open_quote: None };
        };
        let lf = stop.line_end && marks.line_end != LineEnd::Cr;
        let end = stop.at - usize::from(lf && returns(bytes, search, stop.at));
        marked |= escaped;
        match closed {
            Some((open, close, doubled)) if is_blank(&bytes[search..end]) => {
                cells.push(Cell::marked(open + 1, close, doubled));
                marked |= doubled;
            }
            _ => {
                if let Some((open, close, _)) = closed {
                    if is_opening(&bytes[open + 1..close], marks) {
                        return Cut::NeverClosed(open);
                    }
                    untidy = true;
                }
                cells.push(Cell::marked(at, end, escaped && closed.is_none()));
            }
        }
        quoted |= closed.is_some();
        at = stop.next;
        if stop.line_end {
            return Cut::Row(Shape { text_end: end, next: at, quoted, marked, untidy });
        }
    }
}

/// Quotes that open and close the cell at `at`, and whether doubled or escaped characters stand
/// between; none if it has none. Fails with the place of one that nothing closes.
fn quotes_at(
    bytes: &[u8],
    at: usize,
    marks: &Marks,
) -> Result<Option<(usize, usize, bool)>, usize> {
    let open = if marks.blanks_are_free() { behind_blanks(bytes, at) } else { at };
    match marks.quote.filter(|quote| bytes.get(open) == Some(quote)) {
        None => Ok(None),
        Some(quote) => {
            let (close, marked) = closing(bytes, open + 1, quote, marks.escape).ok_or(open)?;
            Ok(Some((open, close, marked)))
        }
    }
}

/// Where the quote that closes a cell stands, and whether doubled or escaped characters stand
/// before it.
fn closing(bytes: &[u8], from: usize, quote: u8, escape: Option<u8>) -> Option<(usize, bool)> {
    let (mut at, mut marked) = (from, false);
    while let Some(&byte) = bytes.get(at) {
        if Some(byte) == escape {
            (at, marked) = (at + 2, true);
        } else if byte != quote {
            at += 1;
        } else if bytes.get(at + 1) == Some(&quote) {
            (at, marked) = (at + 2, true);
        } else {
            return Some((at, marked));
        }
    }
    None
}

/// The first separator or line end at or behind `from`; the end of the bytes if they are the last.
fn stop_from(
    bytes: &[u8],
    from: usize,
    last: bool,
    marks: &Marks,
    escaped: &mut bool,
) -> Option<Stop> {
    let mut at = from;
    while let Some(&byte) = bytes.get(at) {
        if Some(byte) == marks.escape {
            // A carriage return and the line feed behind it are one character here.
            let pair = bytes[at + 1..].starts_with(b"\r\n") && marks.line_end != LineEnd::Cr;
            at = bytes.len().min(at + if pair { 3 } else { 2 });
            *escaped = true;
            continue;
        }
        if matches!(byte, b'\n' | b'\r') {
            if let Some(next) = line_end_at(bytes, at, last, marks.line_end) {
                return Some(Stop { at, next, line_end: true });
            }
        } else if let Some(next) = separator_at(bytes, at, &marks.separator) {
            return behind_separator(bytes, at, next, last, marks);
        }
        at += 1;
    }
    last.then_some(Stop { at: bytes.len(), next: bytes.len(), line_end: true })
}

/// Blanks that separate may also end the row: then they are no separator.
fn behind_separator(
    bytes: &[u8],
    at: usize,
    next: usize,
    last: bool,
    marks: &Marks,
) -> Option<Stop> {
    if marks.separator != Separator::Blanks || bytes[at..next].contains(&b'\t') {
        return Some(Stop { at, next, line_end: false });
    }
    let lf = marks.line_end == LineEnd::Lf && bytes[next..].starts_with(b"\r\n");
    let ended = if lf { Some(next + 2) } else { line_end_at(bytes, next, last, marks.line_end) };
    match ended {
        Some(next) => Some(Stop { at, next, line_end: true }),
        None if next < bytes.len() => Some(Stop { at, next, line_end: false }),
        None => last.then_some(Stop { at, next, line_end: true }),
    }
}

/// Where the text behind a separator begins, if one begins at `at`.
pub fn separator_at(bytes: &[u8], at: usize, separator: &Separator) -> Option<usize> {
    match separator {
        Separator::Byte(byte) => (bytes.get(at) == Some(byte)).then_some(at + 1),
        Separator::Text(text) => bytes
            .get(at..)
            .is_some_and(|rest| rest.starts_with(text.as_bytes()))
            .then(|| at + text.len()),
        Separator::Blanks => {
            let run = behind_blanks(bytes, at);
            match bytes.get(run) {
                Some(b'\t') => Some(behind_blanks(bytes, run + 1)),
                _ if run >= at + 2 => Some(run),
                _ => None,
            }
        }
    }
}
