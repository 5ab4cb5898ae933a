//! How a source's file is written.

use crate::settings::dialect::{Dialect, Encoding, LineEnd, Separator, ShortRows};
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::words;
use crate::settings::written;

/// More lines than this before a header are no preamble but a slip.
const MOST_SKIPPED: i64 = 10_000;
/// More rows than this are no header.
const MOST_HEADER_ROWS: i64 = 4;
/// Longest separator, bytes.
const LONGEST_SEPARATOR: usize = 4;
/// The word for [`Separator::Blanks`].
const BLANKS: &str = "blanks";

/// The dialect of the source at `place`.
pub fn dialect(source: &written::Source, place: &Place, problems: &mut Problems) -> Dialect {
    let defaults = Dialect::default();
    let separator = separator(source.separator.as_deref(), &place.key("separator"), problems);
    let quote = match source.quote.as_deref() {
        None => defaults.quote,
        Some("") => None,
        Some(text) => character(text, &place.key("quote"), problems),
    };
    let escape = source.escape.as_deref();
    let escape = escape.and_then(|text| character(text, &place.key("escape"), problems));
    apart(&separator, quote, escape, place, problems);
    let marks = [(".", b'.'), (",", b',')];
    let mark = source.decimal_mark.as_deref().unwrap_or(".");
    let mark = words::choice(mark, &marks, &place.key("decimal_mark"), problems);
    let ends = [("lf", LineEnd::Lf), ("cr", LineEnd::Cr), ("any", LineEnd::Any)];
    let end = source.line_end.as_deref().unwrap_or("lf");
    let end = words::choice(end, &ends, &place.key("line_end"), problems);
    let short = [("quarantine", ShortRows::Quarantine), ("pad", ShortRows::Pad)];
    let rows = source.short_rows.as_deref().unwrap_or("quarantine");
    let rows = words::choice(rows, &short, &place.key("short_rows"), problems);
    let skip = source.skip_lines.unwrap_or(0);
    let skip = words::whole(skip, 0, MOST_SKIPPED, &place.key("skip_lines"), problems);
    let header = source.header_rows.unwrap_or(1);
    let header = words::whole(header, 0, MOST_HEADER_ROWS, &place.key("header_rows"), problems);
    let nulls = source.nulls.clone().unwrap_or_default();
    words::list(&nulls, &place.key("nulls"), problems);
    Dialect {
        separator,
        quote,
        escape,
        line_end: end.unwrap_or(defaults.line_end),
        decimal_mark: mark.unwrap_or(defaults.decimal_mark),
        encoding: encoding(source.encoding.as_deref(), &place.key("encoding"), problems),
        skip_lines: usize::try_from(skip).unwrap_or(0),
        header_rows: usize::try_from(header).unwrap_or(1),
        units_row: source.units_row.unwrap_or(false),
        short_rows: rows.unwrap_or(defaults.short_rows),
        sheet: source.sheet.clone(),
        nulls,
    }
}

fn separator(text: Option<&str>, place: &Place, problems: &mut Problems) -> Separator {
    let Some(text) = text else { return Separator::Byte(b',') };
    let cuts_rows = text.contains(['\r', '\n', '\0']);
    match text.as_bytes() {
        _ if text == BLANKS => return Separator::Blanks,
        [byte] if byte.is_ascii() && !cuts_rows => return Separator::Byte(*byte),
        [_, _, ..] if text.len() <= LONGEST_SEPARATOR && !cuts_rows => {
            return Separator::Text(text.into());
        }
        _ => {}
    }
    let wanted = format!(
        "expected one to {LONGEST_SEPARATOR} bytes without a line end, or {BLANKS:?} for columns \
         set apart by blanks"
    );
    problems.add(place, format!("found {text:?}, {wanted}"));
    Separator::Byte(b',')
}

/// Notes marks that cannot be told from one another.
fn apart(
    separator: &Separator,
    quote: Option<u8>,
    escape: Option<u8>,
    place: &Place,
    problems: &mut Problems,
) {
    let first = match separator {
        Separator::Byte(byte) => Some(*byte),
        Separator::Text(text) => text.bytes().next(),
        Separator::Blanks => Some(b' '),
    };
    let said = |byte: u8| format!("{:?}", char::from(byte).to_string());
    for (key, mark) in [("quote", quote), ("escape", escape)] {
        if let Some(byte) = mark.filter(|byte| Some(*byte) == first) {
            let found = format!("found {}, which is the separator too", said(byte));
            problems.add(&place.key(key), found);
        }
    }
    if let Some(byte) = escape.filter(|byte| Some(*byte) == quote) {
        let found = format!("found {}, which is the quote too", said(byte));
        let advice = "; leave `escape` out where doubled quotes stand for one";
        problems.add(&place.key("escape"), found + advice);
    }
}

fn encoding(label: Option<&str>, place: &Place, problems: &mut Problems) -> Encoding {
    let Some(label) = label else { return Encoding::UTF_8 };
    Encoding::named(label).unwrap_or_else(|| {
        let wanted = "expected an encoding such as \"utf-8\", \"windows-1252\" or \"utf-16le\"";
        problems.add(place, format!("found {label:?}, {wanted}"));
        Encoding::UTF_8
    })
}

fn character(text: &str, place: &Place, problems: &mut Problems) -> Option<u8> {
    match text.as_bytes() {
        [byte] if byte.is_ascii() && !b"\r\n\0".contains(byte) => Some(*byte),
        _ => {
            problems
                .add(place, format!("found {text:?}, expected one ASCII character, no line end"));
            None
        }
    }
}
