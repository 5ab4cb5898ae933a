//! Which kind of file holds a table: by the ending of its name, or by its first bytes.

use std::io::{Read, Seek};

use memchr::memchr;
use serde::de::IgnoredAny;

use super::first_bytes::is_flat_ods;
use super::json::lines::begins_with_array;
use super::packed::compression::Compression;
use super::packed::zip_member::members;

/// Endings of file names by kind; what ends otherwise is text.
const ENDINGS: [(&str, Format); 10] = [
    (".xlsx", Format::Workbook),
    (".xlsm", Format::Workbook),
    (".ods", Format::Workbook),
    (".fods", Format::Workbook),
    // Two that are refused with advice.
    (".xls", Format::Workbook),
    (".xlsb", Format::Workbook),
    (".parquet", Format::Parquet),
    (".ndjson", Format::JsonLines),
    (".jsonl", Format::JsonLines),
    (".json", Format::JsonLines),
];

/// First bytes of a workbook of before 2007 and of one that is locked.
const OLD_WORKBOOK: &[u8] = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1";

/// First file of an ODS workbook, stored so that it stands there in clear.
const ODS: &[u8] = b"mimetypeapplication/vnd.oasis.opendocument.spreadsheet";

/// Beginnings of names of files that only an XLSX workbook has.
const XLSX_PARTS: [&[u8]; 4] = [b"[Content_Types].xml", b"_rels/", b"xl/", b"docProps/"];

/// First bytes of a Parquet file, and of one whose footer is encrypted.
const PARQUET: [&[u8]; 2] = [b"PAR1", b"PARE"];

/// Files that tell a workbook wherever they stand: one in an ODS, the sheets' folder in an XLSX.
const ODS_CONTENT: &[u8] = b"content.xml";
const XLSX_FOLDER: &[u8] = b"xl/";

/// Where the name of a zip file's first member begins.
const FIRST_NAME: usize = 30;

/// A kind of file that holds a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Cells between separators.
    Text,
    /// XLSX, ODS or FODS.
    Workbook,
    Parquet,
    /// One JSON object a line, or one array of objects.
    JsonLines,
}

impl Format {
    /// By the ending of the file's name, behind which it may be packed.
    pub fn of(file_name: &str) -> Self {
        let lower = file_name.to_ascii_lowercase();
        let packed = Compression::of(&lower).ending();
        let plain = lower.strip_suffix(packed).unwrap_or(&lower);
        let known = ENDINGS.iter().find(|(ending, _)| plain.ends_with(ending));
        known.map_or(Self::Text, |(_, format)| *format)
    }

    /// By the first bytes of the file; of a packed one, unpacked. None: they look like text, or
    /// like a zip file that is no workbook.
    pub fn of_magic(start: &[u8]) -> Option<Self> {
        // A header of text may begin with these letters too.
        if PARQUET.iter().any(|magic| start.starts_with(magic)) && is_binary(start) {
            return Some(Self::Parquet);
        }
        if is_workbook(start) || is_flat_ods(start) {
            return Some(Self::Workbook);
        }
        (begins_with_array(start) || begins_with_object(start)).then_some(Self::JsonLines)
    }

    /// Of a zip file, by the names of its files: some writers of workbooks begin with others than
    /// [`Self::of_magic`] knows. None: it is no workbook, or cannot be read.
    pub fn of_zip(file: &mut (impl Read + Seek)) -> Option<Self> {
        let members = members(file).ok()?;
        let part =
            |name: &str| name.as_bytes() == ODS_CONTENT || name.as_bytes().starts_with(XLSX_FOLDER);
        members.iter().any(|member| part(&member.name)).then_some(Self::Workbook)
    }

    /// Its name in messages.
    pub fn name(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Workbook => "workbook",
            Self::Parquet => "Parquet",
            Self::JsonLines => "NDJSON",
        }
    }
}

/// Whether a file begins like a workbook of before 2007, or like one that is locked.
pub(super) fn is_old_workbook(start: &[u8]) -> bool {
    start.starts_with(OLD_WORKBOOK)
}

/// Whether bytes stand there that no text of any encoding of one byte a letter, and no UTF-8, has.
fn is_binary(bytes: &[u8]) -> bool {
    bytes.iter().any(|byte| matches!(byte, 0..=8 | 14..=26))
}

fn is_workbook(start: &[u8]) -> bool {
    if is_old_workbook(start) {
        return true;
    }
    let name = start.get(FIRST_NAME..).filter(|_| start.starts_with(b"PK\x03\x04"));
    name.is_some_and(|name| {
        name.starts_with(ODS) || XLSX_PARTS.iter().any(|part| name.starts_with(part))
    })
}

/// Whether the first line that is not blank is a JSON object. Of a line that is cut off, its
/// beginning decides: no table of text begins with a brace and a quoted key.
fn begins_with_object(start: &[u8]) -> bool {
    let start = start.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(start).trim_ascii_start();
    if !start.starts_with(b"{") {
        return false;
    }
    match memchr(b'\n', start) {
        Some(end) => serde_json::from_slice::<IgnoredAny>(&start[..end]).is_ok(),
        None => {
            serde_json::from_slice::<IgnoredAny>(start).is_ok()
                || start[1..].trim_ascii_start().starts_with(b"\"")
        }
    }
}
