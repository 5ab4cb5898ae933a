//! Reads a stream row by row through one reused buffer.
//!
//! Promises: what is cut does not depend on how the stream arrives in pieces; the buffer never
//! grows beyond twice [`LONGEST_ROW`]; a row that cannot be cut is handed out as faulty and reading goes on
//! at a line behind it. Blank lines are rows here; who wants none leaves them out.

use std::io::{self, Read};

use memchr::{memchr, memchr_iter};

use super::cut::{Cell, Cut, Marks, Shape, cut, undouble};
use super::encoding::decoded;
use crate::settings::Dialect;

/// Most bytes of a row, as UTF-8 and without its line feed.
pub const LONGEST_ROW: usize = 1 << 20;

/// Bytes that the buffer begins with.
const BUFFER: usize = 256 * 1024;

/// UTF-8 byte order mark.
const MARK: &[u8] = b"\xEF\xBB\xBF";

/// Why a row cannot be cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFault {
    /// Longer than [`LONGEST_ROW`].
    TooLong,
    /// A quote opens and none closes it.
    OpenQuote,
    /// Text stands between a closing quote and the next separator.
    TextAfterQuote,
}

/// One row of a text table.
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

/// The rows of a stream, in order.
pub struct Rows<'a> {
    stream: Box<dyn Read + 'a>,
    buffer: Vec<u8>,
    start: usize,
    end: usize,
    ended: bool,
    marks: Marks,
    cells: Vec<Cell>,
    line: u64,
    /// The rest of a row too long is still to be left out.
    skipping: bool,
}

/// Where the row just cut lies in the buffer.
struct Found {
    start: usize,
    end: usize,
    line: u64,
    fault: Option<RowFault>,
}

/// Opens the rows of an unpacked stream: decodes it, drops a byte order mark, leaves out
/// `skip_lines` lines.
///
/// # Errors
/// When the stream cannot be read.
pub fn rows_of<'a>(dialect: &Dialect, bytes: Box<dyn Read + 'a>) -> io::Result<Rows<'a>> {
    let mut rows = Rows {
        stream: decoded(dialect.encoding, bytes),
        buffer: vec![0; BUFFER],
        start: 0,
        end: 0,
        ended: false,
        marks: Marks { separator: dialect.separator, quote: dialect.quote },
        cells: Vec::new(),
        line: 1,
        skipping: false,
    };
    rows.fill()?;
    if rows.buffer[..rows.end].starts_with(MARK) {
        rows.start = MARK.len();
    }
    for _ in 0..dialect.skip_lines {
        rows.skip_line()?;
    }
    Ok(rows)
}

impl Rows<'_> {
    /// The next row, none at the end of the stream.
    ///
    /// # Errors
    /// When the stream cannot be read.
    pub fn next_row(&mut self) -> io::Result<Option<Row<'_>>> {
        let Some(found) = self.advance()? else {
            return Ok(None);
        };
        Ok(Some(Row {
            line: found.line,
            bytes: &self.buffer[found.start..found.end],
            cells: &self.cells,
            fault: found.fault,
        }))
    }

    /// Line of the file where the next row begins, from 1.
    pub fn line(&self) -> u64 {
        self.line
    }

    fn advance(&mut self) -> io::Result<Option<Found>> {
        if self.skipping {
            self.skipping = false;
            self.skip_line()?;
        }
        loop {
            let rest = self.end - self.start;
            if rest == 0 && self.ended {
                return Ok(None);
            }
            // Never looking beyond the longest row keeps the result independent of how much of
            // the stream is at hand.
            let seen = rest.min(LONGEST_ROW + 1);
            let last = self.ended && rest <= LONGEST_ROW;
            let bytes = &self.buffer[self.start..self.start + seen];
            match cut(bytes, last, self.marks, &mut self.cells) {
                Cut::Row(shape) => return Ok(Some(self.whole(shape))),
                Cut::Unfinished { open_quote } if last || seen > LONGEST_ROW => {
                    let fault = if last { RowFault::OpenQuote } else { RowFault::TooLong };
                    return Ok(Some(self.broken(seen, open_quote, fault)));
                }
                Cut::Unfinished { .. } => self.fill()?,
            }
        }
    }

    /// Takes the row of that shape.
    fn whole(&mut self, shape: Shape) -> Found {
        let start = self.start;
        let line = self.line;
        self.start += shape.next;
        self.line += 1;
        if shape.quoted {
            let text = &mut self.buffer[start..start + shape.text_end];
            self.line += memchr_iter(b'\n', text).count() as u64;
            if !shape.untidy {
                undouble(text, self.marks.quote, &mut self.cells);
            }
        }
        let fault = shape.untidy.then_some(RowFault::TextAfterQuote);
        Found { start, end: start + shape.text_end, line, fault }
    }

    /// Takes `seen` bytes that are no row. Goes on at the first line after the quote that is open,
    /// so that a quote somebody forgot costs one line and not the rest of the file; else after the
    /// line that is too long. No byte is looked at more than twice on that account: behind a quote
    /// that nothing closes every run of quotes is even, so none of them can stay open again.
    fn broken(&mut self, seen: usize, open_quote: Option<usize>, fault: RowFault) -> Found {
        let (start, line) = (self.start, self.line);
        let bytes = &self.buffer[start..start + seen];
        let from = open_quote.unwrap_or(seen);
        let next = match memchr(b'\n', &bytes[from..]) {
            Some(offset) => from + offset + 1,
            None => {
                self.skipping = true;
                seen
            }
        };
        self.line += memchr_iter(b'\n', &bytes[..next]).count() as u64;
        self.start += next;
        Found { start, end: start + next, line, fault: Some(fault) }
    }

    /// Leaves out everything up to the next line end.
    fn skip_line(&mut self) -> io::Result<()> {
        loop {
            if let Some(offset) = memchr(b'\n', &self.buffer[self.start..self.end]) {
                self.start += offset + 1;
                self.line += 1;
                return Ok(());
            }
            self.start = self.end;
            if self.ended {
                return Ok(());
            }
            self.fill()?;
        }
    }

    /// Reads on behind what is not used yet, until the buffer is full or the stream ends.
    fn fill(&mut self) -> io::Result<()> {
        self.buffer.copy_within(self.start..self.end, 0);
        self.end -= self.start;
        self.start = 0;
        if self.end == self.buffer.len() {
            self.buffer.resize(2 * self.end, 0);
        }
        while self.end < self.buffer.len() {
            match self.stream.read(&mut self.buffer[self.end..]) {
                Ok(0) => {
                    self.ended = true;
                    return Ok(());
                }
                Ok(n) => self.end += n,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }
}
