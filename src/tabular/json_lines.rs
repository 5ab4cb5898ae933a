//! Lines of a stream, none longer than a row may be.

use std::io::{self, BufRead, BufReader, Read};

use memchr::memchr;

use super::reader::LONGEST_ROW;

/// UTF-8 byte order mark.
const MARK: &[u8] = b"\xEF\xBB\xBF";

/// A line without its end and without blanks around it.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    /// From 1.
    pub number: u64,
    /// Of a line too long, its beginning.
    pub text: &'a [u8],
    pub too_long: bool,
}

/// The lines of a stream that are not blank.
pub struct Lines<R> {
    stream: BufReader<R>,
    /// Lines before the next one.
    above: u64,
    text: Vec<u8>,
}

impl<R: Read> Lines<R> {
    /// Reads from the beginning of a file; a byte order mark there is dropped.
    pub fn of(stream: R) -> Self {
        Self { stream: BufReader::new(stream), above: 0, text: Vec::new() }
    }

    /// Number of the next line, from 1.
    pub fn line(&self) -> u64 {
        self.above + 1
    }

    /// The next line.
    ///
    /// # Errors
    /// When the stream cannot be read.
    pub fn next(&mut self) -> io::Result<Option<Line<'_>>> {
        loop {
            let Some(too_long) = self.take_line()? else { return Ok(None) };
            self.above += 1;
            if self.above == 1 && self.text.starts_with(MARK) {
                self.text.drain(..MARK.len());
            }
            if too_long || !self.text.trim_ascii().is_empty() {
                let text = self.text.trim_ascii();
                return Ok(Some(Line { number: self.above, text, too_long }));
            }
        }
    }

    /// Takes the next line into `text`; whether it is too long, none at the end.
    fn take_line(&mut self) -> io::Result<Option<bool>> {
        self.text.clear();
        let (mut too_long, mut any) = (false, false);
        loop {
            let bytes = match self.stream.fill_buf() {
                Ok(bytes) => bytes,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            if bytes.is_empty() {
                return Ok(any.then_some(too_long));
            }
            any = true;
            let end = memchr(b'\n', bytes);
            let piece = &bytes[..end.unwrap_or(bytes.len())];
            let room = LONGEST_ROW - self.text.len();
            too_long |= piece.len() > room;
            self.text.extend_from_slice(&piece[..piece.len().min(room)]);
            let used = end.map_or(bytes.len(), |end| end + 1);
            self.stream.consume(used);
            if end.is_some() {
                return Ok(Some(too_long));
            }
        }
    }
}
