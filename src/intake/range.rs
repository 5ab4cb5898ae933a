//! Ranges of a plain export, so that several can be typed at a time: each as it would be typed within the whole.
//!
//! Where a row begins is known to the reader alone: a line end in quotes is text. So the reader goes over the file once,
//! without typing a row, and says where ranges begin, on which line and behind how many rows. A row that cannot be cut is
//! told by what stands behind it, up to the longest row; no range ends so soon after one.

use std::io::{self, Read};

use serde::{Deserialize, Serialize};

use super::error::IntakeError;
use super::export::{At, Export, ReadCounts, Sink};
use super::file::Form;
use super::map::header::read_header;
use super::people::names::Met;
use super::reading::{is_data, read_rows_of_range};
use super::side_by_side::side_by_side;
use super::stream::opened_rows;
use crate::settings::{Encoding, Source};
use crate::tabular::{Compression, Format, LONGEST_ROW, TableRows, rows_of};

/// Where a range of an export begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Range {
    /// Bytes of the file before it.
    pub from: u64,
    /// Line of its first row, from 1.
    pub line: u64,
    /// Data rows before it.
    pub row: u64,
}

/// How an export is cut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cuts {
    /// Bytes up to the end of the header, which every range needs before its own.
    pub head: u64,
    /// The ranges, at least two, in order; the last one ends with the file.
    pub ranges: Vec<Range>,
}

/// Finds where an export can be cut into ranges of at least so many bytes. None where it is one range: it is short, or
/// packed, not text, not UTF-8, without a header that can be read.
///
/// # Errors
/// A file that cannot be read.
pub fn cuts(source: &Source, file: &str, text: impl Read, every: u64) -> io::Result<Option<Cuts>> {
    let (form, dialect) = (Form::of(file), &source.dialect);
    let is_plain = form.format == Format::Text && form.compression == Compression::None;
    if !is_plain || dialect.encoding != Encoding::UTF_8 || dialect.header_rows == 0 {
        return Ok(None);
    }
    let mut rows = rows_of(dialect, Box::new(text))?;
    let failed = |cause| IntakeError::Unreadable { file: file.to_owned(), cause };
    if !matches!(read_header(&mut rows, dialect, file, &failed), Ok(Some(_))) {
        return Ok(None);
    }
    let Some(head) = rows.offset() else { return Ok(None) };
    let mut ranges = vec![Range { from: head, line: rows.line(), row: 0 }];
    // Bytes of the range, data rows before the next row, and before which byte no range may end.
    let (mut last, mut count, mut not_before) = (head, 0, 0);
    loop {
        let (at, line) = (rows.offset(), rows.line());
        let Some(row) = rows.next_row()? else { break };
        if let Some(from) = at.filter(|at| *at >= not_before && at - last >= every.max(1)) {
            ranges.push(Range { from, line, row: count });
            last = from;
        }
        count += u64::from(is_data(&row));
        if row.fault.is_some() {
            // It began before this, and nothing further behind it than the longest row has told what it is.
            not_before = rows.position() + LONGEST_ROW as u64 + 1;
        }
    }
    Ok((ranges.len() > 1).then_some(Cuts { head, ranges }))
}

/// Reads a range: `text` is the head of the export, and behind it the range's bytes. As [`super::read_export`] would within
/// the whole, but for names: what it found out of them is to be put together with that of the other ranges.
///
/// # Errors
/// When the head or the text cannot be read, or the sink refuses something.
pub fn read_range(
    export: &Export,
    range: &Range,
    text: impl Read,
    sink: &mut dyn Sink,
) -> Result<(ReadCounts, Met), IntakeError> {
    let _beside = side_by_side();
    let failed = |_: At, cause| IntakeError::Unreadable { file: export.file.to_owned(), cause };
    let mut rows = opened_rows(export, Box::new(text), &failed)?;
    read_rows_of_range(export, &mut rows, (range.line, range.row), &failed, sink)
}
