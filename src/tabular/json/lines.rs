//! The JSON objects of a stream, one a line or as the elements of one array, none longer than a row may
//! be.

use std::io::{self, BufRead, BufReader, Chain, Cursor, Read};

use memchr::memchr;

use crate::tabular::first_bytes::FIRST_BYTES;
use crate::tabular::row::LONGEST_ROW;
use crate::tabular::table_error::TableError;

/// UTF-8 byte order mark.
const MARK: &[u8] = b"\xEF\xBB\xBF";

/// A line, or an element of an array, without blanks around it.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    /// Line where it begins, from 1.
    pub number: u64,
    /// Of a line too long, its beginning.
    pub text: &'a [u8],
    pub too_long: bool,
}

/// The lines of a stream that are not blank, or the elements of its array.
pub struct Lines<R> {
    stream: BufReader<Chain<Cursor<Vec<u8>>, R>>,
    /// Lines before the next one.
    above: u64,
    text: Vec<u8>,
    /// Where the walk through the array is; none of lines.
    array: Option<Array>,
}

/// Whether bytes begin like an array of objects; one without any is one too.
pub fn begins_with_array(start: &[u8]) -> bool {
    let start = start.strip_prefix(MARK).unwrap_or(start).trim_ascii_start();
    let Some(inside) = start.strip_prefix(b"[").map(<[u8]>::trim_ascii) else { return false };
    let key = inside.strip_prefix(b"{").map(<[u8]>::trim_ascii_start);
    inside == b"]" || key.is_some_and(|key| matches!(key.first(), Some(b'"' | b'}')))
}

impl<R: Read> Lines<R> {
    /// Reads from the beginning of a file; a byte order mark there is dropped.
    ///
    /// # Errors
    /// When the stream cannot be read.
    pub fn of(mut stream: R) -> io::Result<Self> {
        let mut start = Vec::new();
        stream.by_ref().take(FIRST_BYTES as u64).read_to_end(&mut start)?;
        let array = begins_with_array(&start).then(Array::default);
        if start.starts_with(MARK) {
            start.drain(..MARK.len());
        }
        let stream = BufReader::new(Cursor::new(start).chain(stream));
        Ok(Self { stream, above: 0, text: Vec::new(), array })
    }

    /// The first bytes of the stream, before anything else is read.
    pub fn start(&self) -> &[u8] {
        self.stream.get_ref().get_ref().0.get_ref()
    }

    /// Whether the objects are elements of an array.
    pub fn is_array(&self) -> bool {
        self.array.is_some()
    }

    /// Number of the next line, from 1.
    pub fn line(&self) -> u64 {
        self.above + 1
    }

    /// The next line or element.
    ///
    /// # Errors
    /// When the stream cannot be read, or is an array without an end.
    pub fn next(&mut self) -> io::Result<Option<Line<'_>>> {
        if self.array.is_some() {
            return self.next_element();
        }
        loop {
            let Some(too_long) = self.take_line()? else { return Ok(None) };
            self.above += 1;
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

    fn next_element(&mut self) -> io::Result<Option<Line<'_>>> {
        self.text.clear();
        let Some(array) = &mut self.array else { return Ok(None) };
        let (mut number, mut too_long) = (self.above + 1, false);
        loop {
            let bytes = match self.stream.fill_buf() {
                Ok(bytes) => bytes,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            if bytes.is_empty() {
                return match array.closed {
                    true => Ok(None),
                    false => Err(damaged("its array has no end")),
                };
            }
            let (mut used, mut ended) = (0, false);
            for &byte in bytes {
                let step = array.step(byte).map_err(damaged)?;
                if step == Step::Begin {
                    number = self.above + 1;
                }
                self.above += u64::from(byte == b'\n');
                used += 1;
                if matches!(step, Step::Begin | Step::Keep | Step::End) {
                    too_long |= self.text.len() == LONGEST_ROW;
                    if !too_long {
                        self.text.push(byte);
                    }
                }
                ended = matches!(step, Step::End | Step::EndBefore);
                if ended {
                    break;
                }
            }
            self.stream.consume(used);
            if ended {
                return Ok(Some(Line { number, text: self.text.trim_ascii(), too_long }));
            }
        }
    }
}

fn damaged(cause: &str) -> io::Error {
    TableError::Damaged { kind: "JSON", cause: cause.to_owned() }.into()
}

/// A walk through an array, a byte at a time: only as much of JSON as tells where elements end.
#[derive(Clone, Copy, Debug, Default)]
struct Array {
    opened: bool,
    closed: bool,
    /// Inside an element, and how many arrays and objects of it are open.
    inside: bool,
    depth: usize,
    in_string: bool,
    escaped: bool,
    /// An element stands before, and no comma behind it yet.
    wants_comma: bool,
}

/// What a byte of an array is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    /// None of an element.
    Pass,
    /// The first, one within, or the last of one.
    Begin,
    Keep,
    End,
    /// The first behind one that ends by it.
    EndBefore,
}

impl Array {
    fn step(&mut self, byte: u8) -> Result<Step, &'static str> {
        if self.inside {
            return Ok(self.within(byte));
        }
        match byte {
            _ if byte.is_ascii_whitespace() => Ok(Step::Pass),
            _ if self.closed => Err("text stands behind its array"),
            b'[' if !self.opened => {
                self.opened = true;
                Ok(Step::Pass)
            }
            b']' => {
                self.closed = true;
                Ok(Step::Pass)
            }
            b',' => {
                self.wants_comma = false;
                Ok(Step::Pass)
            }
            _ if self.wants_comma => Err("no comma stands between two elements of its array"),
            _ => {
                (self.inside, self.wants_comma) = (true, true);
                self.depth = usize::from(matches!(byte, b'{' | b'['));
                self.in_string = byte == b'"';
                Ok(Step::Begin)
            }
        }
    }

    fn within(&mut self, byte: u8) -> Step {
        if self.in_string {
            self.in_string = self.escaped || byte != b'"';
            self.escaped = byte == b'\\' && !self.escaped;
            return Step::Keep;
        }
        match byte {
            b'"' => self.in_string = true,
            b'{' | b'[' => self.depth += 1,
            b'}' | b']' if self.depth > 0 => {
                self.depth -= 1;
                self.inside = self.depth > 0;
                return if self.inside { Step::Keep } else { Step::End };
            }
            b']' | b',' if self.depth == 0 => {
                self.inside = false;
                (self.closed, self.wants_comma) = (byte == b']', byte == b']');
                return Step::EndBefore;
            }
            _ => {}
        }
        Step::Keep
    }
}
