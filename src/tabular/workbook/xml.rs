//! Events of an XML file inside a workbook, none longer than a bound.
//!
//! Promises: the file is well-formed to its end, not nested beyond reason, and nothing in it is
//! expanded: an entity that a file defines for itself is an error.

use std::cell::Cell;
use std::io::{self, BufRead, BufReader, Read};
use std::rc::Rc;

use quick_xml::XmlVersion;
use quick_xml::events::{BytesStart, Event};

use crate::tabular::table_error::TableError;

/// Most bytes of one tag or one text. A cell holds at most 32,767 characters; lists of ranges in
/// attributes are longer.
const LONGEST: u64 = 4 << 20;

/// Most bytes of an element's name: those of all that are open are held.
const LONGEST_NAME: usize = 1024;

/// Most elements that stand in one another.
const DEEPEST: usize = 256;

/// Ends a stream that goes on too long without an event.
struct Leash<R> {
    inner: BufReader<R>,
    since: Rc<Cell<u64>>,
}

impl<R: Read> Read for Leash<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.fill_buf()?.read(out)?;
        self.consume(n);
        Ok(n)
    }
}

impl<R: Read> BufRead for Leash<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.since.get() > LONGEST {
            return Err(io::Error::other("too long without an event"));
        }
        self.inner.fill_buf()
    }

    fn consume(&mut self, n: usize) {
        self.since.set(self.since.get() + n as u64);
        self.inner.consume(n);
    }
}

/// The events of an XML file.
pub struct Xml<R> {
    reader: quick_xml::Reader<Leash<R>>,
    since: Rc<Cell<u64>>,
    buffer: Vec<u8>,
    depth: usize,
}

impl<R: Read> Xml<R> {
    /// Reads `bytes`, which begin an XML file.
    pub fn of(bytes: R) -> Self {
        let since = Rc::new(Cell::new(0));
        let leash = Leash { inner: BufReader::new(bytes), since: Rc::clone(&since) };
        let mut reader = quick_xml::Reader::from_reader(leash);
        reader.config_mut().expand_empty_elements = true;
        Self { reader, since, buffer: Vec::new(), depth: 0 }
    }

    /// The next event; an element without content has an end too.
    ///
    /// # Errors
    /// When the file is damaged or ends too early, or breaks a bound.
    pub fn next(&mut self) -> Result<Event<'_>, TableError> {
        self.since.set(0);
        self.buffer.clear();
        let event = match self.reader.read_event_into(&mut self.buffer) {
            Ok(event) => event,
            Err(_) if self.since.get() > LONGEST => {
                return Err(TableError::TooMany {
                    what: "bytes in one cell of a workbook",
                    found: self.since.get(),
                    most: LONGEST,
                    advice: "save it again",
                });
            }
            Err(cause) => return Err(damaged(&cause.to_string())),
        };
        match &event {
            Event::Start(e) if e.name().as_ref().len() > LONGEST_NAME => {
                return Err(damaged("an element in it has a name without end"));
            }
            Event::Start(_) => self.depth += 1,
            Event::End(_) => self.depth = self.depth.saturating_sub(1),
            Event::Eof if self.depth > 0 => return Err(damaged("an XML file in it is cut off")),
            _ => {}
        }
        if self.depth > DEEPEST {
            return Err(damaged("an XML file in it is nested too deep"));
        }
        Ok(event)
    }

    /// Elements that are open.
    pub fn depth(&self) -> usize {
        self.depth
    }

    /// Leaves out everything to the end of the element that was just opened.
    ///
    /// # Errors
    /// Like [`Self::next`].
    pub fn skip(&mut self) -> Result<(), TableError> {
        let outside = self.depth.saturating_sub(1);
        while self.depth > outside {
            self.next()?;
        }
        Ok(())
    }
}

/// A workbook that is not whole.
pub fn damaged(cause: &str) -> TableError {
    TableError::Damaged { kind: "workbook", cause: cause.to_owned() }
}

/// The value of an attribute. A name with a colon is the whole of it, else the prefix of a
/// namespace does not matter.
///
/// # Errors
/// When the attributes are damaged.
pub fn attribute(element: &BytesStart, name: &str) -> Result<Option<String>, TableError> {
    for attribute in element.attributes().with_checks(false) {
        let attribute = attribute.map_err(|cause| damaged(&cause.to_string()))?;
        let local = !name.contains(':') && attribute.key.local_name().as_ref() == name;
        if local || attribute.key.as_ref() == name {
            let value = attribute.normalized_value(XmlVersion::Implicit1_0);
            return value
                .map(|value| Some(value.into_owned()))
                .map_err(|cause| damaged(&cause.to_string()));
        }
    }
    Ok(None)
}

/// Whether an attribute of that name says yes.
///
/// # Errors
/// Like [`attribute`].
pub fn is_set(element: &BytesStart, name: &str) -> Result<bool, TableError> {
    Ok(matches!(attribute(element, name)?.as_deref(), Some("1" | "true")))
}
