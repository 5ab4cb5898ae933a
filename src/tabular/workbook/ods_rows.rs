//! The rows of an ODS sheet, repeated ones written out.

use std::io::{self, Read};

use super::facts::SheetFact;
use super::ods_reader::{OdsReader, OdsRow};
use super::xml::damaged;
use crate::tabular::row::{Row, TableRows};
use crate::tabular::row_buffer::RowBuffer;
use crate::tabular::table_error::TableError;

/// The rows of a sheet up to the last one with a value.
pub struct OdsRows<R> {
    reader: OdsReader<R>,
    row: OdsRow,
    /// How often the row in the buffer is still to be given out.
    left: u64,
    width: usize,
    last: u64,
    next: u64,
    buffer: RowBuffer,
}

impl<R: Read> OdsRows<R> {
    /// The rows of the sheet with that index; `fact` is the result of its survey.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn of(content: R, index: usize, fact: &SheetFact) -> Result<Self, TableError> {
        let mut reader = OdsReader::of(content);
        for _ in 0..=index {
            reader.next_table()?.ok_or_else(|| damaged("a sheet is missing"))?;
        }
        Ok(Self {
            reader,
            row: OdsRow::default(),
            left: 0,
            width: fact.columns,
            last: fact.rows,
            next: 1,
            buffer: RowBuffer::default(),
        })
    }

    /// Fills the buffer with the next row of the file; one without text has one empty cell.
    fn gather(&mut self) -> Result<(), TableError> {
        if !self.reader.next_row(&mut self.row)? {
            return Err(damaged("rows are missing"));
        }
        self.left = self.row.repeat;
        self.buffer.clear();
        let width = self.row.width();
        for cell in &self.row.cells {
            for _ in 0..cell.repeat.min(width - self.buffer.count()) {
                self.buffer.push(cell.text.as_bytes());
            }
        }
        self.buffer.pad(if width == 0 { 1 } else { self.width });
        Ok(())
    }
}

impl<R: Read> TableRows for OdsRows<R> {
    fn next_row(&mut self) -> io::Result<Option<Row<'_>>> {
        if self.next > self.last {
            return Ok(None);
        }
        if self.left == 0 {
            self.gather()?;
        }
        self.left -= 1;
        let line = self.next;
        self.next += 1;
        Ok(Some(self.buffer.row(line)))
    }

    fn line(&self) -> u64 {
        self.next
    }
}
