//! The rows of an XLSX sheet, cell by cell as they stand in the file.

use std::io::{self, Read, Seek};

use calamine::{Cell, DataRef, XlsxCellReader, XlsxError};

use super::date_text::{duration_text, iso_date_text, iso_duration_text, serial_text};
use super::facts::SheetFact;
use super::number_format::{Shows, shows};
use super::xlsx_survey::OddErrors;
use super::xml::damaged;
use crate::tabular::guarded::guarded;
use crate::tabular::row::{Row, TableRows};
use crate::tabular::row_buffer::RowBuffer;
use crate::tabular::table_error::TableError;
use crate::tabular::value_text::number_text;

/// The rows of a sheet up to the last one with a value.
pub struct XlsxRows<'a, R: Read + Seek> {
    cells: XlsxCellReader<'a, R>,
    /// The cell behind those given out, with its style.
    ahead: Option<(Cell<DataRef<'a>>, usize)>,
    /// Error values ahead that the library stops at.
    odd: OddErrors,
    texts: Texts,
    width: usize,
    last: u64,
    next: u64,
    buffer: RowBuffer,
}

impl<'a, R: Read + Seek> XlsxRows<'a, R> {
    /// The rows that `cells` hold; `fact` and `odd` are the result of the survey of the same sheet.
    ///
    /// # Errors
    /// When the first cell cannot be read.
    pub fn of(
        cells: XlsxCellReader<'a, R>,
        fact: &SheetFact,
        odd: OddErrors,
        from_1904: bool,
    ) -> Result<Self, TableError> {
        let format = |style: &calamine::Style| style.number_format.clone().unwrap_or_default();
        let shown = cells.styles().iter().map(format);
        let shown = shown.map(|format| shows(&format.format_code, format.format_id)).collect();
        let texts = Texts { from_1904, shown };
        let (width, last) = (fact.columns, fact.rows);
        let buffer = RowBuffer::default();
        let mut rows = Self { cells, ahead: None, odd, texts, width, last, next: 1, buffer };
        guarded(|| rows.step()).map_err(|cause| damaged(&cause))??;
        Ok(rows)
    }

    /// Reads the next cell that has a value.
    fn step(&mut self) -> Result<(), TableError> {
        loop {
            self.ahead = match self.cells.next_cell_with_style_id() {
                Ok(next) => next,
                Err(XlsxError::CellError(text)) => Some((self.odd_error(text)?, 0)),
                Err(error) => return Err(of_library(&error)),
            };
            let empty =
                |(cell, _): &(Cell<DataRef>, usize)| matches!(cell.get_value(), DataRef::Empty);
            if !self.ahead.as_ref().is_some_and(empty) {
                return Ok(());
            }
        }
    }

    /// The cell at which the library stopped.
    fn odd_error(&mut self, text: String) -> Result<Cell<DataRef<'a>>, TableError> {
        let place = self.odd.pop_front();
        let place = place.ok_or_else(|| damaged(&format!("found the error {text:?}")))?;
        Ok(Cell::new(place, DataRef::String(text)))
    }

    /// Gathers the cells of a row; a row without any has one that is empty.
    fn gather(&mut self, line: u64) -> Result<(), TableError> {
        self.buffer.clear();
        while let Some((cell, style)) = &self.ahead {
            let (row, column) = cell.get_position();
            if u64::from(row) + 1 != line {
                break;
            }
            self.buffer.pad(column as usize);
            self.texts.add(cell.get_value(), *style, &mut self.buffer);
            self.step()?;
        }
        self.buffer.pad(if self.buffer.count() == 0 { 1 } else { self.width });
        Ok(())
    }
}

impl<R: Read + Seek> TableRows for XlsxRows<'_, R> {
    fn next_row(&mut self) -> io::Result<Option<Row<'_>>> {
        if self.next > self.last {
            return Ok(None);
        }
        let line = self.next;
        self.next += 1;
        guarded(|| self.gather(line)).map_err(|cause| damaged(&cause))??;
        Ok(Some(self.buffer.row(line)))
    }

    fn line(&self) -> u64 {
        self.next
    }
}

/// What is needed to write a value as text.
struct Texts {
    from_1904: bool,
    /// By style.
    shown: Vec<Shows>,
}

impl Texts {
    fn add(&self, value: &DataRef, style: usize, buffer: &mut RowBuffer) {
        let text = match value {
            DataRef::Empty => String::new(),
            DataRef::String(text) => return buffer.push(text.as_bytes()),
            DataRef::SharedString(text) => return buffer.push(text.as_bytes()),
            DataRef::Int(number) => number.to_string(),
            DataRef::Float(number) => number_text(*number),
            DataRef::Bool(truth) => truth.to_string(),
            DataRef::DateTime(date) if date.is_duration() => duration_text(date.as_f64()),
            DataRef::DateTime(date) => {
                let shows = self.shown.get(style).copied().unwrap_or(Shows::Day);
                serial_text(date.as_f64(), self.from_1904, shows)
            }
            DataRef::DateTimeIso(date) => iso_date_text(date),
            DataRef::DurationIso(duration) => iso_duration_text(duration),
            DataRef::Error(error) => error.to_string(),
        };
        buffer.push(text.as_bytes());
    }
}

/// What the library says, in the words of the house.
pub fn of_library(error: &XlsxError) -> TableError {
    match error {
        XlsxError::Password => TableError::Encrypted,
        XlsxError::FileNotFound(_) => TableError::NoWorkbook,
        other => damaged(&other.to_string()),
    }
}
