//! Reads a row that the strict cut refuses, as a careful person would.
//!
//! Among the readings that give the row its usual width the one that is least strange is taken: a
//! quote before a separator closes, any other quote is text, and so is a quote that nothing closes.
//! No byte of text is lost: a quote that neither opens, closes nor doubles stays in the cell.

use super::cut_any::separator_at;
use super::marks::{Marks, behind_blanks};
use crate::settings::Separator;

/// Most cells of a row whose other readings are tried.
const MOST_CELLS: usize = 512;
/// Bytes of readings tried, for each byte of the row, until the first reading is taken.
const PASSES: usize = 16;
/// The same for a row of any length.
const LEAST_TRIED: usize = 4096;
/// Closing quotes that are tried for one cell.
const CLOSINGS: usize = 24;

/// How strange a reading of a row may be, summed over its cells.
const STRANGEST: usize = 8;

/// Quotes in a row with a separator or the row's end behind them.
struct Closing {
    first: usize,
    last: usize,
    /// Where the next cell begins; none at the end of the row.
    next: Option<usize>,
}

/// One reading of a cell: its range, whether it stood in quotes, and where the next one begins.
#[derive(Clone, Copy)]
struct Reading {
    start: usize,
    end: usize,
    quoted: bool,
    next: Option<usize>,
    /// How strange it is: 0 for a cell as it should be.
    cost: usize,
}

struct Mending<'a> {
    bytes: &'a [u8],
    marks: &'a Marks,
    closings: Vec<Closing>,
    /// Bytes that may still be tried.
    budget: usize,
}

/// The cells' texts of a row (its bytes without the line end). `width`: cells that it should have.
pub fn mended(bytes: &[u8], marks: &Marks, width: usize) -> Vec<Vec<u8>> {
    let budget = LEAST_TRIED + PASSES * bytes.len();
    let mut mending = Mending { bytes, marks, closings: closings(bytes, marks), budget };
    let mut cells = Vec::new();
    let tried = (1..=MOST_CELLS).contains(&width)
        && (0..=STRANGEST).any(|most| mending.fits(0, width, most, &mut cells));
    if tried {
        cells.reverse();
    } else {
        cells.clear();
        let mut at = Some(0);
        while let Some(from) = at {
            let first = mending.first_reading(from);
            cells.push(first);
            at = first.next;
        }
    }
    cells.iter().map(|cell| mending.text(cell)).collect()
}

impl Mending<'_> {
    /// Whether the bytes from `at` can be read as `width` cells that are no stranger than `most`; if
    /// so, these in reverse order.
    fn fits(&mut self, at: usize, width: usize, most: usize, cells: &mut Vec<Reading>) -> bool {
        for reading in self.readings(at).into_iter().filter(|reading| reading.cost <= most) {
            let cost = reading.end - reading.start + 1;
            if self.budget < cost {
                return false;
            }
            self.budget -= cost;
            let fits = match reading.next {
                Some(next) => width > 1 && self.fits(next, width - 1, most - reading.cost, cells),
                None => width == 1,
            };
            if fits {
                cells.push(reading);
                return true;
            }
        }
        false
    }

    fn first_reading(&self, at: usize) -> Reading {
        let quoted = self.quoted(at, 1);
        quoted.first().copied().unwrap_or_else(|| self.unquoted(at))
    }

    /// The readings of the cell at `at`, the most usual first; at least one.
    fn readings(&self, at: usize) -> Vec<Reading> {
        let mut found = self.quoted(at, CLOSINGS);
        found.push(self.unquoted(at));
        found
    }

    /// The readings as a cell in quotes. A quote that closes comes first; an even run of them is
    /// text that goes on, as a rule, so that these come behind.
    fn quoted(&self, at: usize, most: usize) -> Vec<Reading> {
        let open = match self.marks.blanks_are_free() {
            true => behind_blanks(self.bytes, at),
            false => at,
        };
        if self.marks.quote.is_none() || self.bytes.get(open) != self.marks.quote.as_ref() {
            return Vec::new();
        }
        let from = self.closings.partition_point(|closing| closing.last <= open);
        let near = self.closings[from..].iter().take(CLOSINGS);
        let reading = |closing: &Closing| {
            let run = closing.last - closing.first.max(open + 1) + 1;
            let (start, end) = (open + 1, closing.last);
            let even = run.is_multiple_of(2);
            let cost = usize::from(even) + self.strangeness(start, end - (run - 1));
            (even, Reading { start, end, quoted: true, next: closing.next, cost })
        };
        let mut found: Vec<(bool, Reading)> = near.map(reading).collect();
        found.sort_by_key(|(even, _)| *even);
        found.into_iter().take(most).map(|(_, cell)| cell).collect()
    }

    /// How strange a text between quotes is: a lone quote in it is, more so behind a separator.
    fn strangeness(&self, start: usize, end: usize) -> usize {
        let quote = self.marks.quote;
        let (mut at, mut strange) = (start, 0);
        while at < end {
            let byte = Some(self.bytes[at]);
            let pair = byte == self.marks.escape
                || byte == quote && self.bytes.get(at + 1).copied() == quote;
            if pair {
                at += 1;
            } else if byte == quote {
                let opens = at > start && is_opening_at(self.bytes, at, self.marks);
                strange = strange.max(if opens { 3 } else { 1 });
            }
            at += 1;
        }
        strange
    }

    /// The reading as a cell without quotes.
    fn unquoted(&self, start: usize) -> Reading {
        let (end, next) = self.unquoted_end(start);
        let text = self.bytes[start..end].trim_ascii_start();
        let begins = !text.is_empty() && text.first() == self.marks.quote.as_ref();
        let holds =
            self.marks.quote.is_some_and(|quote| text.iter().skip(1).any(|byte| *byte == quote));
        let cost = 2 * usize::from(begins) + usize::from(holds);
        Reading { start, end, quoted: false, next, cost }
    }

    /// Where a cell without quotes ends and the next one begins.
    fn unquoted_end(&self, start: usize) -> (usize, Option<usize>) {
        let mut at = start;
        while at < self.bytes.len() {
            if Some(self.bytes[at]) == self.marks.escape {
                at += 2;
            } else if let Some(next) = separator_at(self.bytes, at, &self.marks.separator) {
                return (at, Some(next));
            } else {
                at += 1;
            }
        }
        (self.bytes.len(), None)
    }

    /// The text of a cell: of doubled quotes in quotes there is one, escapes go.
    fn text(&self, cell: &Reading) -> Vec<u8> {
        let bytes = &self.bytes[cell.start..cell.end];
        let mut text = Vec::with_capacity(bytes.len());
        let mut at = 0;
        while let Some(&byte) = bytes.get(at) {
            let following = bytes.get(at + 1);
            let escaped = Some(byte) == self.marks.escape && following.is_some();
            let doubled = cell.quoted && Some(byte) == self.marks.quote && following == Some(&byte);
            at += usize::from(escaped || doubled);
            text.push(bytes[at]);
            at += 1;
        }
        text
    }
}

/// Whether a separator ends right before `at`, blanks aside.
fn is_opening_at(bytes: &[u8], at: usize, marks: &Marks) -> bool {
    let before = &bytes[..at];
    let trimmed = before.trim_ascii_end();
    match &marks.separator {
        Separator::Byte(byte) => before.ends_with(&[*byte]) || trimmed.ends_with(&[*byte]),
        Separator::Text(text) => {
            before.ends_with(text.as_bytes()) || trimmed.ends_with(text.trim_end().as_bytes())
        }
        Separator::Blanks => before.ends_with(b"  ") || before.ends_with(b"\t"),
    }
}

/// Every run of quotes that may close a cell.
fn closings(bytes: &[u8], marks: &Marks) -> Vec<Closing> {
    let Some(quote) = marks.quote else {
        return Vec::new();
    };
    let (mut found, mut at) = (Vec::new(), 0);
    while let Some(&byte) = bytes.get(at) {
        if Some(byte) == marks.escape {
            at += 2;
            continue;
        }
        let run = bytes[at..].iter().take_while(|byte| **byte == quote).count();
        if run == 0 {
            at += 1;
            continue;
        }
        let (first, end) = (at, at + run);
        let behind = if marks.blanks_are_free() { behind_blanks(bytes, end) } else { end };
        let next = separator_at(bytes, end, &marks.separator)
            .or_else(|| separator_at(bytes, behind, &marks.separator));
        if next.is_some() || behind == bytes.len() {
            found.push(Closing { first, last: end - 1, next });
        }
        at = end;
    }
    found
}
