//! The first rows of an export without a header: they are data, and say how wide it is.

use std::io;

use super::header::Header;
use crate::intake::error::IntakeError;
use crate::tabular::{Cell, Cells, Row, RowFault, TableRows};

/// Most rows that are kept until one can be read.
const MOST: usize = 1_000;

/// A row that outlives the reader's buffer.
#[derive(Debug)]
pub struct KeptRow {
    line: u64,
    bytes: Vec<u8>,
    cells: Vec<Cell>,
    fault: Option<RowFault>,
}

impl KeptRow {
    fn of(row: &Row) -> Self {
        let (bytes, cells) = (row.bytes.to_vec(), row.cells.to_vec());
        Self { line: row.line, bytes, cells, fault: row.fault }
    }

    /// The row as it was.
    pub fn row(&self) -> Row<'_> {
        Row { line: self.line, bytes: &self.bytes, cells: &self.cells, fault: self.fault }
    }
}

/// Everything up to the first row with text that can be read, and a header of its width. None if
/// the whole file is blank.
///
/// # Errors
/// When the stream fails, or a thousand rows pass of which none can be read.
pub fn first_rows<R: TableRows + ?Sized>(
    rows: &mut R,
    file: &str,
    failed: &dyn Fn(io::Error) -> IntakeError,
) -> Result<(Option<Header>, Vec<KeptRow>), IntakeError> {
    let mut kept = Vec::new();
    while let Some(row) = rows.next_row().map_err(failed)? {
        let cells = if row.fault.is_some() { None } else { Cells::of(&row).ok() };
        let line = row.line;
        let width = cells.filter(|cells| !cells.are_blank()).map(|cells| cells.count());
        kept.push(KeptRow::of(&row));
        if let Some(width) = width {
            return Ok((Some(Header::numbered(file, line, width)), kept));
        }
        if kept.len() == MOST {
            let reason = format!("is not there, and none of the first {MOST} rows can be read");
            return Err(IntakeError::BadHeader { file: file.to_owned(), line, reason });
        }
    }
    let header = (!kept.is_empty()).then(|| Header::numbered(file, 1, 0));
    Ok((header, kept))
}
