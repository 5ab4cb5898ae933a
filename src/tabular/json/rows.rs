//! JSON objects, one a line (NDJSON) or all in one array, as rows of cell texts.
//!
//! Reads the stream twice: first for the columns, which are all keys in order of their first
//! appearance, then for the rows. Memory grows with the columns and not with the rows. Blank lines
//! are left out; a line that is no object is given out as faulty, and reading goes on behind it.

use std::io::{self, Read};

use rustc_hash::{FxHashMap, FxHashSet};

use super::lines::{Line, Lines};
use super::object::each_value;
use crate::tabular::other_kind::check_known;
use crate::tabular::room::{LIST, Room};
use crate::tabular::row::{Row, RowFault, TableRows};
use crate::tabular::row_buffer::RowBuffer;
use crate::tabular::table_error::TableError;

/// Most columns.
const MOST_COLUMNS: usize = 10_000;

/// The rows of a stream of JSON objects; the first holds the names of the columns.
pub struct JsonRows {
    lines: Lines<Box<dyn Read>>,
    names: Vec<String>,
    places: FxHashMap<String, usize>,
    named: bool,
    values: Values,
    buffer: RowBuffer,
}

/// The texts of one object.
#[derive(Default)]
struct Values {
    text: Vec<u8>,
    /// By column, where its text lies; none: not in this object.
    places: Vec<Option<(usize, usize)>>,
}

impl JsonRows {
    /// Opens the rows of a stream that `open` gives from its beginning each time, unpacked and as
    /// UTF-8.
    ///
    /// # Errors
    /// When it cannot be read, or has more than 10,000 columns, or names of them for which there is no
    /// room.
    pub fn open(
        open: &dyn Fn() -> io::Result<Box<dyn Read>>,
        room: Room,
    ) -> Result<Self, TableError> {
        let of_stream = |error| TableError::of_stream("NDJSON", error);
        let lines = || Lines::of(open()?);
        let names = columns(lines().map_err(of_stream)?, room)?;
        let places = names.iter().enumerate().map(|(place, name)| (name.clone(), place)).collect();
        Ok(Self {
            lines: lines().map_err(of_stream)?,
            names,
            places,
            named: false,
            values: Values::default(),
            buffer: RowBuffer::default(),
        })
    }
}

impl JsonRows {
    /// Whether the objects are elements of an array, and not one a line.
    pub fn is_array(&self) -> bool {
        self.lines.is_array()
    }
}

/// All keys, in order of their first appearance.
fn columns(mut lines: Lines<Box<dyn Read>>, room: Room) -> Result<Vec<String>, TableError> {
    check_known(lines.start())?;
    let mut names: Vec<String> = Vec::new();
    let mut known: FxHashSet<String> = FxHashSet::default();
    let mut bytes = 0;
    let advice = "keys are to be names of columns, not values";
    while let Some(line) = lines.next().map_err(|error| TableError::of_stream("NDJSON", error))? {
        let Some(text) = usable(&line) else { continue };
        let (count_before, bytes_before) = (names.len(), bytes);
        let mut takes = 0;
        let read = each_value(text, &mut |key, _| {
            if known.contains(key) || names.len() > MOST_COLUMNS {
                return;
            }
            // A key of an object in an object is as long as all around it: weighed before it is kept.
            takes = bytes + key.len() as u64;
            if takes <= room.share(LIST) {
                known.insert(key.to_owned());
                names.push(key.to_owned());
                bytes = takes;
            }
        });
        if read.is_err() {
            names.drain(count_before..).for_each(|name| {
                known.remove(&name);
            });
            bytes = bytes_before;
            continue;
        }
        room.check("keys of objects that take", takes, LIST, advice)?;
        if names.len() > MOST_COLUMNS {
            return Err(TableError::TooMany {
                what: "different keys in the objects of the lines",
                found: names.len() as u64,
                most: MOST_COLUMNS as u64,
                advice,
            });
        }
    }
    Ok(names)
}

/// The text of a line that may be an object.
fn usable<'a>(line: &Line<'a>) -> Option<&'a str> {
    if line.too_long { None } else { std::str::from_utf8(line.text).ok() }
}

impl TableRows for JsonRows {
    fn next_row(&mut self) -> io::Result<Option<Row<'_>>> {
        if !self.named {
            self.named = true;
            self.buffer.clear();
            self.names.iter().for_each(|name| self.buffer.push(name.as_bytes()));
            return Ok(Some(self.buffer.row(self.lines.line())));
        }
        let Some(line) = self.lines.next()? else { return Ok(None) };
        let number = line.number;
        match usable(&line) {
            Some(text) => match self.values.read(text, &self.places)? {
                Ok(()) => self.values.fill(&mut self.buffer),
                Err(fault) => self.buffer.refuse(line.text, fault),
            },
            None if line.too_long => self.buffer.refuse(line.text, RowFault::TooLong),
            // The check of each row's text names the byte.
            None => {
                self.buffer.clear();
                self.buffer.push(line.text);
            }
        }
        Ok(Some(self.buffer.row(number)))
    }

    fn line(&self) -> u64 {
        self.lines.line()
    }
}

impl Values {
    /// Reads the texts of one object.
    fn read(
        &mut self,
        object: &str,
        columns: &FxHashMap<String, usize>,
    ) -> Result<Result<(), RowFault>, TableError> {
        self.text.clear();
        self.places.clear();
        self.places.resize(columns.len(), None);
        let (mut double, mut unknown) = (false, false);
        let read = each_value(object, &mut |key, text| match columns.get(key) {
            Some(&column) => {
                double |= self.places[column].is_some();
                let start = self.text.len();
                self.text.extend_from_slice(text.as_bytes());
                self.places[column] = Some((start, self.text.len()));
            }
            None => unknown = true,
        });
        Ok(match read {
            Err(fault) => Err(fault),
            Ok(()) if unknown => return Err(TableError::Changed),
            Ok(()) if double => Err(RowFault::DoubleKey),
            Ok(()) => Ok(()),
        })
    }

    fn fill(&self, buffer: &mut RowBuffer) {
        buffer.clear();
        for place in &self.places {
            let (start, end) = place.unwrap_or_default();
            buffer.push(&self.text[start..end]);
        }
    }
}
