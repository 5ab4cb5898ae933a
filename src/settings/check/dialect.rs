//! How a source's text is cut into cells.

use super::words;
use crate::settings::place::Place;
use crate::settings::plan::{Dialect, Encoding};
use crate::settings::problems::Problems;
use crate::settings::written;

/// More lines than this before a header are no preamble but a slip.
const MOST_SKIPPED: i64 = 10_000;

/// The dialect of the source at `place`.
pub fn dialect(source: &written::Source, place: &Place, problems: &mut Problems) -> Dialect {
    let separator = character(source.separator.as_deref(), b',', &place.key("separator"), problems);
    let quote = character(source.quote.as_deref(), b'"', &place.key("quote"), problems);
    if separator == quote {
        let both = char::from(quote).to_string();
        problems.add(&place.key("quote"), format!("found {both:?}, which is the separator too"));
    }
    let marks = [(".", b'.'), (",", b',')];
    let mark = source.decimal_mark.as_deref().unwrap_or(".");
    let mark = words::choice(mark, &marks, &place.key("decimal_mark"), problems);
    let encodings = [("utf-8", Encoding::Utf8), ("windows-1252", Encoding::Windows1252)];
    let encoding = source.encoding.as_deref().unwrap_or("utf-8");
    let encoding = words::choice(encoding, &encodings, &place.key("encoding"), problems);
    let skip = source.skip_lines.unwrap_or(0);
    let skip = words::whole(skip, 0, MOST_SKIPPED, &place.key("skip_lines"), problems);
    let nulls = source.nulls.clone().unwrap_or_default();
    words::list(&nulls, &place.key("nulls"), problems);
    Dialect {
        separator,
        quote,
        decimal_mark: mark.unwrap_or(b'.'),
        encoding: encoding.unwrap_or(Encoding::Utf8),
        skip_lines: usize::try_from(skip).unwrap_or(0),
        nulls,
    }
}

fn character(text: Option<&str>, default: u8, place: &Place, problems: &mut Problems) -> u8 {
    let Some(text) = text else { return default };
    match text.as_bytes() {
        [byte] if byte.is_ascii() && !b"\r\n\0".contains(byte) => *byte,
        _ => {
            problems
                .add(place, format!("found {text:?}, expected one ASCII character, no line end"));
            default
        }
    }
}
