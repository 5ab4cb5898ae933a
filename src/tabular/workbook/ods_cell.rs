//! One cell of an ODS sheet and its text.
//!
//! Source: OASIS Open Document Format 1.2, part 1, 9.1.4 (cells) and 19.385 (kinds of values)
//! [section numbers from memory].

use std::io::Read;

use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};

use super::date_text::{iso_date_text, iso_duration_text};
use super::facts::MOST_COLUMNS;
use super::xml::{Xml, attribute, damaged};
use crate::tabular::table_error::TableError;
use crate::tabular::value_text::number_text;

/// Most blanks that one element stands for.
const MOST_BLANKS: usize = 32_767;

/// A cell, or several alike side by side.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OdsCell {
    /// The text that stands for its value.
    pub text: String,
    /// How many there are, at most [`MOST_COLUMNS`].
    pub repeat: usize,
    /// It has a formula.
    pub formula: bool,
    /// It is the first of a merged range.
    pub merged: bool,
}

/// Names of the two kinds of cells; the second lies under a merged range.
pub fn is_cell(name: &str) -> bool {
    matches!(name, "table:table-cell" | "table:covered-table-cell")
}

/// What the attributes of a cell say.
pub struct Head {
    cell: OdsCell,
    /// The value that an attribute holds.
    value: Option<String>,
}

/// Reads the attributes of a cell.
///
/// # Errors
/// When they are damaged.
pub fn head(e: &BytesStart) -> Result<Head, TableError> {
    let number = |name| -> Result<usize, TableError> {
        let written = attribute(e, name)?;
        Ok(written.and_then(|written| written.parse().ok()).unwrap_or(1).clamp(1, MOST_COLUMNS))
    };
    let spans = ["table:number-columns-spanned", "table:number-rows-spanned"];
    let merged = number(spans[0])? > 1 || number(spans[1])? > 1;
    let cell = OdsCell {
        text: String::new(),
        repeat: number("table:number-columns-repeated")?,
        formula: attribute(e, "table:formula")?.is_some(),
        merged: merged && e.name().as_ref() == "table:table-cell",
    };
    let kind = attribute(e, "office:value-type")?.unwrap_or_default();
    let value = match kind.as_str() {
        "float" | "percentage" | "currency" => attribute(e, "office:value")?.map(plain_number),
        "boolean" => attribute(e, "office:boolean-value")?,
        "date" => attribute(e, "office:date-value")?.map(|written| iso_date_text(&written)),
        "time" => attribute(e, "office:time-value")?.map(|written| iso_duration_text(&written)),
        _ => attribute(e, "office:string-value")?,
    };
    Ok(Head { cell, value })
}

fn plain_number(written: String) -> String {
    written.parse().map_or(written, number_text)
}

/// Reads the content of the cell just opened. `room` is how many bytes the row may still take; when
/// none is left, text is dropped, and the row is too long by then.
///
/// # Errors
/// When the file is damaged.
pub fn read_cell<R: Read>(
    head: Head,
    xml: &mut Xml<R>,
    room: &mut usize,
) -> Result<OdsCell, TableError> {
    let Head { mut cell, value } = head;
    let shown = content(xml, *room)?;
    // An error is written as a text that is empty, and shown.
    cell.text = value.filter(|value| !value.is_empty()).unwrap_or(shown);
    if *room == 0 {
        cell.text.clear();
    }
    *room = room.saturating_sub(cell.text.len());
    Ok(cell)
}

/// The text that the cell shows, its paragraphs joined by line feeds; notes and drawings are left
/// out.
fn content<R: Read>(xml: &mut Xml<R>, room: usize) -> Result<String, TableError> {
    let (mut text, mut paragraphs, mut open) = (String::new(), 0, false);
    loop {
        let full = text.len() > room;
        match xml.next()? {
            Event::Start(e) => match e.name().as_ref() {
                "text:p" | "text:h" => {
                    text.push_str(if paragraphs > 0 { "\n" } else { "" });
                    paragraphs += 1;
                    open = true;
                }
                "text:s" => {
                    let count = attribute(&e, "text:c")?.and_then(|count| count.parse().ok());
                    let count = count.unwrap_or(1).min(if full { 0 } else { MOST_BLANKS });
                    text.extend(std::iter::repeat_n(' ', count));
                }
                "text:tab" => text.push('\t'),
                "text:line-break" => text.push('\n'),
                name if name.starts_with("text:") => {}
                _ => xml.skip()?,
            },
            Event::Text(piece) if open && !full => text.push_str(&piece.xml10_content()),
            Event::CData(piece) if open && !full => text.push_str(&piece.xml10_content()),
            Event::GeneralRef(name) if open && !full => text.push_str(&resolved(&name)?),
            Event::End(e) if is_cell(e.name().as_ref()) => return Ok(text),
            Event::End(e) if matches!(e.name().as_ref(), "text:p" | "text:h") => open = false,
            _ => {}
        }
    }
}

/// The character that a reference stands for; those that a file defines for itself are refused.
fn resolved(name: &BytesRef) -> Result<String, TableError> {
    if let Some(character) = name.resolve_char_ref().map_err(|cause| damaged(&cause.to_string()))? {
        return Ok(character.to_string());
    }
    let known = resolve_predefined_entity(name).map(str::to_owned);
    known.ok_or_else(|| damaged(&format!("found the entity {:?}", &**name)))
}
