//! Writes a table as RFC 4180: header first, every cell as text, lines that end in CRLF.

use std::collections::VecDeque;
use std::io::{self, Read, Write};

use super::otherwise::{How, as_read};
use super::{Detected, Extent};
use crate::settings::Dialect;
use crate::tabular::row::{Row, TableRows};
use crate::tabular::text::marks::Marks;
use crate::tabular::text::reader::rows_of;

/// What was written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// Data rows.
    pub rows: u64,
    /// Rows that the strict reader refuses, read as a person would.
    pub mended: u64,
    /// Rows read with another separator.
    pub reread: u64,
    /// Rows with more or fewer cells than the table has columns.
    pub uneven: u64,
    /// Rows of the table left out: repeated headers, units, footers behind the sample.
    pub left_out: u64,
}

impl Written {
    fn add(&mut self, other: &Self) {
        self.rows += other.rows;
        self.mended += other.mended;
        self.reread += other.reread;
        self.uneven += other.uneven;
        self.left_out += other.left_out;
    }
}

/// Writes one of the tables found, `detected.main` for the one meant. `bytes` is the whole unpacked
/// file. Rows with too many or too few cells keep those they have. Memory does not grow with the file.
///
/// # Errors
/// When the bytes cannot be read or `out` not be written.
pub fn write_table(
    detected: &Detected,
    table: usize,
    bytes: Box<dyn Read + '_>,
    out: &mut dyn Write,
) -> io::Result<Written> {
    let Some(extent) = detected.tables.get(table) else {
        return Ok(Written::default());
    };
    let skip_lines = usize::try_from(extent.first_line - 1).unwrap_or(usize::MAX);
    let dialect = Dialect { skip_lines, ..detected.dialect.clone() };
    let mut rows = rows_of(&dialect, bytes)?;
    let mut writing = Writing {
        extent,
        marks: Marks::of(&dialect),
        // Only the end of the file is known to hold footers that no line number names.
        held_back: if extent.last_line.is_none() { detected.last_rows } else { 0 },
        held: VecDeque::new(),
        before_data: extent.header_rows + usize::from(extent.units_row),
        header: Vec::new(),
        written: Written::default(),
        out,
    };
    writing.names()?;
    while let Some(row) = rows.next_row()? {
        if extent.last_line.is_some_and(|last| row.line > last) {
            break;
        }
        writing.take(&row)?;
    }
    writing.written.left_out += writing.held.len() as u64;
    Ok(writing.written)
}

struct Writing<'a> {
    extent: &'a Extent,
    marks: Marks,
    held_back: usize,
    /// Rows that may turn out to be footers, as they would be written: their cells, apart, would take
    /// many times as much. With each what it adds to the account.
    held: VecDeque<(Vec<u8>, Written)>,
    /// Rows of header and units still to come.
    before_data: usize,
    /// The last row of the header.
    header: Vec<Vec<u8>>,
    written: Written,
    out: &'a mut dyn Write,
}

impl Writing<'_> {
    fn names(&mut self) -> io::Result<()> {
        let names: Vec<&[u8]> = self.extent.names.iter().map(String::as_bytes).collect();
        write_row(&names, self.out)
    }

    fn take(&mut self, row: &Row) -> io::Result<()> {
        if row.bytes.trim_ascii().is_empty() && row.cells.len() <= 1 {
            return Ok(());
        }
        let columns = &self.extent.columns;
        let (mut cells, how) =
            as_read(row.bytes, row.cells, row.fault.is_some(), &self.marks, columns);
        let is_empty = cells.len() > 1 && cells.iter().all(|cell| cell.trim_ascii().is_empty());
        if self.before_data > 0 && is_empty {
            return Ok(());
        }
        if self.before_data > 0 {
            self.before_data -= 1;
            if self.before_data == usize::from(self.extent.units_row) {
                self.header = cells;
            } else if self.before_data == 0 {
                self.written.left_out += 1;
            }
            return Ok(());
        }
        if is_empty {
            self.written.left_out += 1;
            return Ok(());
        }
        if self.extent.header_rows > 0 && cells == self.header {
            self.written.left_out += 1;
            return Ok(());
        }
        let behind = self.extent.trailing_separator && cells.len() == columns.width;
        if behind && cells.last().is_some_and(|last| last.trim_ascii().is_empty()) {
            cells.pop();
        }
        let account = Written {
            rows: 1,
            mended: u64::from(how == How::Mended),
            reread: u64::from(matches!(how, How::Otherwise(_))),
            uneven: u64::from(cells.len() != self.extent.width),
            left_out: 0,
        };
        let cells: Vec<&[u8]> = cells.iter().map(Vec::as_slice).collect();
        if self.held_back == 0 {
            self.written.add(&account);
            return write_row(&cells, self.out);
        }
        let mut line = Vec::new();
        write_row(&cells, &mut line)?;
        self.held.push_back((line, account));
        if self.held.len() > self.held_back
            && let Some((line, account)) = self.held.pop_front()
        {
            self.written.add(&account);
            self.out.write_all(&line)?;
        }
        Ok(())
    }
}

/// Writes a row as RFC 4180 has it, in UTF-8: a byte that is no text becomes U+FFFD. A row of one empty
/// cell is a pair of quotes: a blank line would be no row.
///
/// # Errors
/// Those of writing.
pub fn write_row(cells: &[&[u8]], out: &mut dyn Write) -> io::Result<()> {
    for (place, cell) in cells.iter().enumerate() {
        if place > 0 {
            out.write_all(b",")?;
        }
        let text = String::from_utf8_lossy(cell);
        let cell = text.as_bytes();
        let alone = cells.len() == 1 && cell.is_empty();
        if !alone && !cell.iter().any(|byte| b",\"\r\n".contains(byte)) {
            out.write_all(cell)?;
            continue;
        }
        out.write_all(b"\"")?;
        for part in cell.split_inclusive(|byte| *byte == b'"') {
            out.write_all(part)?;
            if part.ends_with(b"\"") {
                out.write_all(b"\"")?;
            }
        }
        out.write_all(b"\"")?;
    }
    out.write_all(b"\r\n")
}
