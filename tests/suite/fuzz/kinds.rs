//! Files of every kind that is not text, damaged in every way: read or refused in a few words.

use std::io::{Cursor, Seek, Write};
use std::sync::Arc;

use arrow::array::{ArrayRef, BinaryArray, StructArray, TimestampMicrosecondArray};
use arrow::datatypes::{DataType, Field, TimeUnit};
use motetrail::tabular::{Format, ParquetRows, Room, TableRows, Workbook, check_known};
use parquet::file::properties::WriterProperties;

use super::fuzz_with;
use crate::tabular::other_kinds::kinds;
use crate::tabular::parquet_inputs::written;
use crate::tabular::workbook_files::{ods, xlsx, zipped};

/// Most rows that are read of one file, and bytes of a message.
const ROWS: usize = 200;
const MESSAGE: usize = 2000;

fn table() -> &'static str {
    "<table:table table:name=\"Log\"><table:table-row><table:table-cell office:value-type=\"float\" \
     office:value=\"5\"><text:p>5,0</text:p></table:table-cell></table:table-row></table:table>"
}

/// A Parquet file with a moment inside a structure, and bytes that are no text.
fn parquet() -> Vec<u8> {
    let kind = DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into()));
    let field = Arc::new(Field::new("at", kind, true));
    let moments = TimestampMicrosecondArray::from(vec![Some(1), None]).with_timezone("UTC");
    let structure: ArrayRef = Arc::new(StructArray::from(vec![(field, Arc::new(moments) as _)]));
    let bytes: ArrayRef = Arc::new(BinaryArray::from(vec![None, Some(&b"\xFF"[..])]));
    written(vec![("s", structure), ("b", bytes)], WriterProperties::default())
}

/// Reads what a file gives, as the kind that its bytes say.
fn read(bytes: &[u8]) -> Result<usize, String> {
    check_known(bytes).map_err(|error| error.to_string())?;
    let mut count = 0;
    let mut all = |rows: &mut dyn TableRows| -> Result<(), String> {
        while count < ROWS && rows.next_row().map_err(|error| error.to_string())?.is_some() {
            count += 1;
        }
        Ok(())
    };
    let of_zip = Format::of_zip(&mut Cursor::new(bytes));
    match Format::of_magic(bytes).or(of_zip) {
        Some(Format::Workbook) => {
            let book = Workbook::open(Cursor::new(bytes.to_vec()), None, &[], Room::default());
            let mut book = book.map_err(|error| error.to_string())?;
            all(&mut book.rows().map_err(|error| error.to_string())?)?;
        }
        Some(Format::Parquet) => {
            let mut file = tempfile::tempfile().unwrap();
            file.write_all(bytes).unwrap();
            file.rewind().unwrap();
            let rows = ParquetRows::open(file, Room::default());
            all(&mut rows.map_err(|error| error.to_string())?)?;
        }
        _ => {}
    }
    Ok(count)
}

#[test]
fn files_of_any_kind_are_read_or_refused_in_a_few_words() {
    let content = format!(
        "<?xml version=\"1.0\"?><office:document xmlns:office=\"o\"><office:spreadsheet>{}\
         </office:spreadsheet></office:document>",
        table()
    );
    let sheet = "<sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>0</v></c></row></sheetData>";
    let sound = vec![
        ods("", table()),
        zipped(&[("content.xml", content.as_str())]),
        content.into_bytes(),
        xlsx(sheet, "<si><t>id</t></si>", ""),
        parquet(),
    ];
    for bytes in &sound {
        assert!(read(bytes).unwrap_or_else(|error| panic!("{error}")) > 0);
    }
    let mut seeds = sound;
    seeds.extend(kinds().into_iter().map(|(bytes, ..)| bytes));
    fuzz_with(seeds, "kinds", |input| {
        if let Err(told) = read(input) {
            assert!(!told.is_empty() && told.len() < MESSAGE, "{} bytes of message", told.len());
        }
    });
}
