//! What the library will hold of an XLSX workbook besides its sheets, weighed before it reads it: texts
//! that cells share, styles, names, the list of files. It holds all of them whole, and its memory
//! follows how many there are, not how many bytes they have in the file.

use std::io::{self, Read, Seek};

use quick_xml::events::Event;

use super::xlsx_parts::SheetPart;
use super::xml::{Xml, attribute};
use crate::tabular::packed::zip_member::{Member, unpacked};
use crate::tabular::room::{HALF, Room};
use crate::tabular::table_error::TableError;

/// Most unpacked bytes of a workbook besides its sheets, 256 MiB; most of them are read past.
const MOST_BYTES: u64 = 256 << 20;

/// Bytes held of a file's place in the list of files, by the library and here.
const MEMBER: u64 = 768;
/// Bytes held of a shared text besides its letters: while the list grows there are two of it.
const SHARED: u64 = 80;
/// Bytes that the library reserves for each text that the list says it has.
const RESERVED: u64 = 24;
/// Bytes held of a style of cells, besides its names.
const STYLE: u64 = 768;
/// Bytes held of any other element.
const ELEMENT: u64 = 256;

/// Unpacks everything but the sheets once, since what the directory says about lengths need not be
/// true, and weighs what is held of it. `book` is the part that lists the sheets.
///
/// # Errors
/// When a part is damaged, or what is held would take too much memory.
pub fn check_held(
    file: &mut (impl Read + Seek),
    members: &[Member],
    parts: &[SheetPart],
    book: &str,
    room: Room,
) -> Result<(), TableError> {
    let (mut read, mut held) = (0, members.len() as u64 * MEMBER);
    for (index, member) in members.iter().enumerate() {
        if parts.iter().any(|part| part.member == index) {
            continue;
        }
        let bytes = unpacked(member, &mut *file)?.take(MOST_BYTES + 1 - read);
        let length = io::copy(&mut { bytes }, &mut io::sink())
            .map_err(|error| TableError::of_stream("workbook", error))?;
        read += length;
        if read > MOST_BYTES {
            return Err(TableError::TooMany {
                what: "bytes in a workbook beside its sheets",
                found: read,
                most: MOST_BYTES,
                advice: "delete what is not part of the table, or save it as CSV",
            });
        }
        let name = member.name.replace('\\', "/").to_lowercase();
        if is_shared(&name) || is_styles_or_list(&name, book) {
            let counted = counted(unpacked(member, &mut *file)?)?;
            held = held.saturating_add(counted.weight(length, is_shared(&name)));
        }
        let what = "texts, styles and names of a workbook that take";
        room.check(what, held, HALF, "save the sheet as CSV")?;
    }
    Ok(())
}

/// Whether a part of that name, in small letters, holds the texts that cells share.
fn is_shared(name: &str) -> bool {
    name.rsplit('/').next() == Some("sharedstrings.xml")
}

/// Whether it holds styles or lists the sheets, which may be in a part of any name.
fn is_styles_or_list(name: &str, book: &str) -> bool {
    matches!(name.rsplit('/').next(), Some("styles.xml" | "workbook.xml"))
        || name == book.to_lowercase()
}

/// What stands in a part.
#[derive(Debug, Default)]
struct Counted {
    elements: u64,
    /// Entries of the list of shared texts, and how many it says it has.
    shared: u64,
    promised: u64,
    /// Styles of cells, and bytes of the longest name that each of them may hold a copy of.
    styles: u64,
    longest_name: u64,
}

impl Counted {
    /// Bytes that the library will hold of a part of that length; of `shared` texts, or of others.
    fn weight(&self, length: u64, shared: bool) -> u64 {
        if shared {
            let reserved = self.promised.saturating_mul(RESERVED);
            return length.saturating_add((self.shared * SHARED).max(reserved));
        }
        // A style holds the name of a font and the code of a number format.
        let style = STYLE.saturating_add(2 * self.longest_name);
        (self.elements * ELEMENT).saturating_add(self.styles.saturating_mul(style) + length)
    }
}

/// Counts what stands in a part.
fn counted(bytes: impl Read) -> Result<Counted, TableError> {
    let mut xml = Xml::of(bytes);
    let mut counted = Counted::default();
    loop {
        let e = match xml.next()? {
            Event::Start(e) => e,
            Event::Eof => return Ok(counted),
            _ => continue,
        };
        counted.elements += 1;
        match e.local_name().as_ref() {
            "si" => counted.shared += 1,
            "xf" => counted.styles += 1,
            "sst" => {
                let promised = attribute(&e, "uniqueCount")?.and_then(|count| count.parse().ok());
                counted.promised = counted.promised.max(promised.unwrap_or(0));
            }
            "numFmt" | "name" => {
                counted.longest_name = counted.longest_name.max(e.len() as u64);
            }
            _ => {}
        }
    }
}
