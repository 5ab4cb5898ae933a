//! Writes the cells of one export row: separators, quotes, encoding, code words and clocks.

use chrono::{DateTime, Datelike, TimeZone, Timelike};
use chrono_tz::Tz;

use super::event::Minute;
use super::shape::sheet_plan::Shape;

/// The row being written.
pub struct Pen<'a> {
    shape: &'a Shape,
    row: Vec<u8>,
    /// Where each cell begins in the row.
    starts: Vec<usize>,
}

impl<'a> Pen<'a> {
    /// An empty row of a shape.
    pub fn new(shape: &'a Shape) -> Self {
        Self { shape, row: Vec::new(), starts: Vec::new() }
    }

    /// Begins a new row.
    pub fn clear(&mut self) {
        self.row.clear();
        self.starts.clear();
    }

    /// Begins the next cell.
    pub fn next_cell(&mut self) {
        if !self.starts.is_empty() {
            self.row.push(self.shape.separator);
        }
        self.starts.push(self.row.len());
    }

    /// Text as it is, quoted where the separator or a quote is in it.
    pub fn text(&mut self, text: &str) {
        let separator = char::from(self.shape.separator);
        let quoted = text.contains([separator, '"']);
        if quoted {
            self.row.push(b'"');
        }
        for letter in text.chars() {
            if letter == '"' {
                self.row.push(b'"');
            }
            self.letter(letter);
        }
        if quoted {
            self.row.push(b'"');
        }
    }

    /// One letter in the shape's encoding; windows-1252 has the letters below 256 of Unicode in
    /// their places (0x80 to 0x9F apart, which are not used here).
    fn letter(&mut self, letter: char) {
        if self.shape.latin {
            self.row.push(u8::try_from(u32::from(letter)).unwrap_or(b'?'));
        } else {
            self.row.extend_from_slice(letter.encode_utf8(&mut [0; 4]).as_bytes());
        }
    }

    /// The shape's word for a code.
    pub fn code(&mut self, code: &str) {
        let word = self.shape.words.iter().find(|(known, _)| *known == code);
        self.text(word.map_or(code, |(_, word)| word));
    }

    /// A whole number.
    pub fn number(&mut self, number: i64) {
        self.text(&number.to_string());
    }

    /// Hundredths, with the shape's decimal mark.
    pub fn hundredths(&mut self, amount: i64) {
        let mark = self.shape.decimal_mark;
        self.text(&format!("{}{mark}{:02}", amount / 100, amount % 100));
    }

    /// A minute in the shape's zone, by an strftime pattern; `*` stands for ISO 8601 in UTC with
    /// seconds, `@` for seconds since 1970.
    pub fn clock(&mut self, at: Minute, pattern: &str) {
        match pattern {
            "*" => self.iso(at),
            "@" => self.number(at * 60),
            _ => {
                let local = local(at, self.shape.zone);
                let text = local.map(|l| l.format(pattern).to_string()).unwrap_or_default();
                self.text(&text);
            }
        }
    }

    /// The same as a pattern would write, some ten times faster: large fleets are mostly times.
    fn iso(&mut self, at: Minute) {
        let Some(time) = DateTime::from_timestamp(at * 60, 0) else {
            return;
        };
        let mut digits = |value: u32, width: u32| {
            for place in (0..width).rev() {
                self.row.push(b'0' + (value / 10u32.pow(place) % 10) as u8);
            }
        };
        digits(time.year().unsigned_abs(), 4);
        self.row.push(b'-');
        self.pair(time.month(), b'-');
        self.pair(time.day(), b'T');
        self.pair(time.hour(), b':');
        self.pair(time.minute(), b':');
        self.pair((at * 37).rem_euclid(60) as u32, b'Z');
    }

    fn pair(&mut self, value: u32, after: u8) {
        self.row.extend_from_slice(&[b'0' + (value / 10) as u8, b'0' + (value % 10) as u8, after]);
    }

    /// Replaces a finished cell.
    pub fn replace(&mut self, cell: usize, text: &str) {
        let Some(&start) = self.starts.get(cell) else {
            return;
        };
        let end = self.starts.get(cell + 1).map_or(self.row.len(), |next| next - 1);
        self.row.splice(start..end, text.bytes());
        let shift = text.len() as isize - (end - start) as isize;
        for later in self.starts.iter_mut().skip(cell + 1) {
            *later = later.saturating_add_signed(shift);
        }
    }

    /// Cuts the row off before a cell.
    pub fn cut(&mut self, cell: usize) {
        if let Some(&start) = self.starts.get(cell).filter(|_| cell > 0) {
            self.row.truncate(start - 1);
            self.starts.truncate(cell);
        }
    }

    /// The bytes of a finished cell.
    pub fn cell(&self, cell: usize) -> &[u8] {
        let Some(&start) = self.starts.get(cell) else {
            return &[];
        };
        let end = self.starts.get(cell + 1).map_or(self.row.len(), |next| next - 1);
        &self.row[start..end]
    }

    /// The row without its line end.
    pub fn row(&self) -> &[u8] {
        &self.row
    }
}

/// A minute in a zone, none outside the calendar.
pub fn local(at: Minute, zone: Tz) -> Option<DateTime<Tz>> {
    let utc = DateTime::from_timestamp(at.checked_mul(60)?, 0)?;
    Some(zone.from_utc_datetime(&utc.naive_utc()))
}
