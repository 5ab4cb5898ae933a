//! Reads a stream row by row through one reused buffer.
//!
//! Promises: what is cut does not depend on how the stream arrives in pieces; the buffer never
//! grows beyond twice [`LONGEST_ROW`]; a row that cannot be cut is handed out as faulty and reading goes on
//! at a line behind it. Blank lines are rows here; who wants none leaves them out.

use std::io;
use std::io::Read;

use super::cut::plain;
use super::encoding::decoded;
use super::line_ends::line_end_from;
use super::marks::{Cell, Marks};
use super::take::{Behind, Taken, take};
use crate::settings::Dialect;
use crate::tabular::first_bytes::FIRST_BYTES;
use crate::tabular::other_kind::check_text;
use crate::tabular::row::{LONGEST_ROW, Row, TableRows};

/// Bytes that the buffer begins with.
const BUFFER: usize = 256 * 1024;

/// UTF-8 byte order mark.
const MARK: &[u8] = b"\xEF\xBB\xBF";

/// The rows of a stream of text, in order.
pub struct Rows<'a> {
    stream: Box<dyn Read + 'a>,
    buffer: Vec<u8>,
    /// Bytes of the text that have left the buffer.
    passed: u64,
    start: usize,
    end: usize,
    ended: bool,
    marks: Marks,
    cells: Vec<Cell>,
    line: u64,
    /// The rest of a row too long is still to be left out.
    skipping: bool,
}

/// Opens the rows of an unpacked stream: decodes it, drops a byte order mark, leaves out
/// `skip_lines` lines.
///
/// # Errors
/// When the stream cannot be read, or is no text by its beginning.
pub fn rows_of<'a>(dialect: &Dialect, bytes: Box<dyn Read + 'a>) -> io::Result<Rows<'a>> {
    let mut rows = Rows {
        stream: decoded(dialect.encoding, bytes),
        buffer: vec![0; BUFFER],
        passed: 0,
        start: 0,
        end: 0,
        ended: false,
        marks: Marks::of(dialect),
        cells: Vec::new(),
        line: 1,
        skipping: false,
    };
    rows.fill()?;
    check_text(&rows.buffer[..rows.end.min(FIRST_BYTES)])?;
    if rows.buffer[..rows.end].starts_with(MARK) {
        rows.start = MARK.len();
    }
    for _ in 0..dialect.skip_lines {
        rows.skip_line()?;
    }
    Ok(rows)
}

impl TableRows for Rows<'_> {
    fn next_row(&mut self) -> io::Result<Option<Row<'_>>> {
        if self.skipping {
            self.skipping = false;
            self.skip_line()?;
        }
        let Some(taken) = self.advance()? else {
            return Ok(None);
        };
        let (start, line) = (self.start, self.line);
        self.start += taken.next;
        self.line += taken.lines;
        self.skipping = taken.goes_on;
        let bytes = &mut self.buffer[start..start + taken.end];
        if taken.marked {
            plain(bytes, &self.marks, &mut self.cells);
        }
        Ok(Some(Row { line, bytes, cells: &self.cells, fault: taken.fault }))
    }

    fn line(&self) -> u64 {
        self.line
    }
}

impl Rows<'_> {
    /// Bytes of the text that were read as rows.
    pub fn position(&self) -> u64 {
        self.passed + self.start as u64
    }

    /// Bytes of the text before the next row; none while the rest of a row too long is still to be left out.
    pub fn offset(&self) -> Option<u64> {
        (!self.skipping).then(|| self.position())
    }

    /// Says that the next row stands on that line: what is read is a part of a file.
    pub fn go_on_at(&mut self, line: u64) {
        self.line = line;
    }

    /// Cuts the next row; none at the end of the stream.
    fn advance(&mut self) -> io::Result<Option<Taken>> {
        loop {
            let rest = self.end - self.start;
            if rest == 0 && self.ended {
                return Ok(None);
            }
            // Never looking beyond the longest row keeps the result independent of how much of
            // the stream is at hand.
            let seen = rest.min(LONGEST_ROW + 1);
            let behind = match (self.ended && rest <= LONGEST_ROW, seen > LONGEST_ROW) {
                (true, _) => Behind::Nothing,
                (false, true) => Behind::TooFar,
                (false, false) => Behind::More,
            };
            let bytes = &self.buffer[self.start..self.start + seen];
            match take(bytes, behind, &self.marks, &mut self.cells) {
                Some(taken) => return Ok(Some(taken)),
                None => self.fill()?,
            }
        }
    }

    /// Leaves out everything up to the next line end.
    fn skip_line(&mut self) -> io::Result<()> {
        loop {
            let bytes = &self.buffer[self.start..self.end];
            if let Some((_, next)) = line_end_from(bytes, 0, self.ended, self.marks.line_end) {
                self.start += next;
                self.line += 1;
                return Ok(());
            }
            // A carriage return may be the first half of a line end.
            let kept = usize::from(bytes.ends_with(b"\r") && !self.ended);
            self.start = self.end - kept;
            if self.ended {
                return Ok(());
            }
            self.fill()?;
        }
    }

    /// Reads on behind what is not used yet, until the buffer is full or the stream ends.
    fn fill(&mut self) -> io::Result<()> {
        self.buffer.copy_within(self.start..self.end, 0);
        self.passed += self.start as u64;
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
