//! Files that are no table of a kind that is read, by their first bytes: named for what they are, so
//! that none of them is read as text.

use memchr::memmem;

use super::first_bytes::{is_flat_ods, is_markup, plain};
use super::format::Format;
use super::table_error::TableError;

/// What to do with documents that hold a table among other things.
const SAVE: &str = "open it in an office program and save the table as XLSX";
const EXPORT: &str = "export the table as CSV or XLSX";
const UNPACK: &str = "unpack it and name its files in the source";
const PACK: &str = "unpack it, or pack it as gzip, zstd or zip";
const ENDING: &str = "give the file the ending of its kind";

/// Kinds by their first bytes.
const BEGINNINGS: [(&[u8], &str, &str); 12] = [
    (b"%PDF-", "a PDF document", EXPORT),
    (b"{\\rtf", "a text document (RTF)", EXPORT),
    (b"SQLite format 3\0", "a database (SQLite)", EXPORT),
    (b"7z\xBC\xAF\x27\x1C", "an archive (7z)", UNPACK),
    (b"Rar!\x1A\x07", "an archive (RAR)", UNPACK),
    (b"\xFD7zXZ\0", "a file packed with xz", PACK),
    (b"\x89PNG\r\n\x1A\n", "a picture (PNG)", EXPORT),
    (b"\xFF\xD8\xFF", "a picture (JPEG)", EXPORT),
    (b"GIF87a", "a picture (GIF)", EXPORT),
    (b"GIF89a", "a picture (GIF)", EXPORT),
    (b"ARROW1\0\0", "an Arrow file", "write it as Parquet"),
    (b"Obj\x01", "an Avro file", "write it as Parquet"),
];

/// Where a tar archive says that it is one; before it there are always bytes that are nought.
const TAR: (usize, &[u8]) = (257, b"ustar");

/// Where a file packed with bzip2 says so, behind its letters and the size of its blocks.
const BZIP2: (usize, &[u8]) = (4, b"1AY&SY");

/// Elements that a web page, or a piece of one, begins with.
const WEB: [&str; 9] =
    ["!doctype html", "html", "head", "meta", "style", "body", "table", "div", "center"];

/// Namespace of the XML spreadsheets of 2003.
const SHEET_2003: &[u8] = b"urn:schemas-microsoft-com:office:spreadsheet";

/// Says what a file is that begins so, if it is none that is read.
///
/// # Errors
/// [`TableError::OtherKind`].
pub fn check_known(start: &[u8]) -> Result<(), TableError> {
    let refused = |found, advice| Err(TableError::OtherKind { found, advice });
    if let Some((_, found, advice)) = BEGINNINGS.iter().find(|(bytes, ..)| start.starts_with(bytes))
    {
        return refused(found, advice);
    }
    let stands =
        |(at, wanted): (usize, &[u8])| start.get(at..).is_some_and(|rest| rest.starts_with(wanted));
    if start.starts_with(b"BZh") && stands(BZIP2) {
        return refused("a file packed with bzip2", PACK);
    }
    if stands(TAR) && start[..TAR.0].contains(&0) {
        return refused("an archive (tar)", UNPACK);
    }
    let text = plain(start);
    if begins_with_element(&text, &WEB) {
        return refused("a web page (HTML)", SAVE);
    }
    if is_markup(&text) && memmem::find(&text, SHEET_2003).is_some() {
        return refused("an XML spreadsheet of 2003", SAVE);
    }
    if begins_with_element(&text, &["?xml"]) && !is_flat_ods(start) {
        return refused("an XML document", EXPORT);
    }
    if is_one_object(&text) {
        let advice = "export an array of objects, or one object a line";
        return refused("a JSON document that is one object of several lines", advice);
    }
    Ok(())
}

/// Says what a file is that begins so, if it is not text.
///
/// # Errors
/// [`TableError::OtherKind`].
pub fn check_text(start: &[u8]) -> Result<(), TableError> {
    check_known(start)?;
    let found = match Format::of_magic(start) {
        None | Some(Format::Text) => return Ok(()),
        Some(Format::Workbook) => "a workbook",
        Some(Format::Parquet) => "a Parquet file",
        Some(Format::JsonLines) => "JSON",
    };
    Err(TableError::OtherKind { found, advice: ENDING })
}

/// Whether a text begins with one of these elements, whose names end there.
fn begins_with_element(text: &[u8], names: &[&str]) -> bool {
    let Some(inside) = text.strip_prefix(b"<") else { return false };
    names.iter().any(|name| {
        let begins =
            inside.get(..name.len()).is_some_and(|n| n.eq_ignore_ascii_case(name.as_bytes()));
        let behind = inside.get(name.len());
        begins && behind.is_none_or(|byte| byte.is_ascii_whitespace() || b">/".contains(byte))
    })
}

/// Whether a JSON object begins of which the first line holds nothing but its brace.
fn is_one_object(text: &[u8]) -> bool {
    let Some(inside) = text.strip_prefix(b"{") else { return false };
    let blanks = inside.len() - inside.trim_ascii_start().len();
    inside[..blanks].contains(&b'\n') && inside[blanks..].starts_with(b"\"")
}
