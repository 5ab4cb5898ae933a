//! Rows of files that carry their own cells: kept for a look, written as CSV whole.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

use super::look::Looked;
use super::sample::unpacked;
use crate::tabular::detect::{write_row, write_table};
use crate::tabular::{Cells, Format, JsonRows, ParquetRows, Row, TableRows, Workbook};

/// Rows taken for a look.
#[derive(Clone, Debug, Default)]
pub struct Taken {
    /// Line and trimmed cells.
    pub rows: Vec<(u64, Vec<String>)>,
    /// There are others behind them.
    pub more: bool,
}

/// Keeps the first rows; rows that are no text are left out.
///
/// # Errors
/// Reading, or damage among the rows.
pub fn kept_rows(rows: &mut dyn TableRows, most: usize) -> io::Result<Taken> {
    let mut taken = Taken::default();
    while let Some(row) = rows.next_row()? {
        if taken.rows.len() > most {
            taken.more = true;
            break;
        }
        if let Some(cells) = texts(&row) {
            taken.rows.push((row.line, cells));
        }
    }
    Ok(taken)
}

fn texts(row: &Row) -> Option<Vec<String>> {
    let cells = if row.fault.is_none() { Cells::of(row).ok()? } else { return None };
    Some((0..cells.count()).map(|cell| cells.get(cell).to_owned()).collect())
}

/// The rows as lines of text, a row a line: what would cut a cell becomes a blank, and a quote at its
/// beginning an apostrophe.
pub fn as_text(taken: &Taken) -> Vec<u8> {
    let mut text = String::new();
    for (_, cells) in &taken.rows {
        for (place, cell) in cells.iter().enumerate() {
            text.push_str(if place > 0 { "\t" } else { "" });
            let plain = |(at, c): (usize, char)| match c {
                '"' if at == 0 => '\'',
                c if c.is_control() => ' ',
                c => c,
            };
            text.extend(cell.char_indices().map(plain));
        }
        text.push('\n');
    }
    text.into_bytes()
}

/// Writes the table whole as RFC 4180.
///
/// # Errors
/// Reading or writing.
pub fn write_csv(path: &Path, looked: &Looked, out: &mut dyn Write) -> anyhow::Result<()> {
    match looked.kind.format {
        Format::Text => {
            let bytes = unpacked(path, looked.kind.compression)?;
            write_table(&looked.detected, looked.detected.main, bytes, out)?;
        }
        Format::Workbook => {
            let mut book = Workbook::open(File::open(path)?, None, &[])?;
            let mut rows = book.rows()?;
            for _ in 0..looked.dialect.skip_lines {
                rows.next_row()?;
            }
            let names: Vec<String> =
                looked.columns.iter().map(|column| column.name.clone()).collect();
            let before = looked.dialect.header_rows + usize::from(looked.dialect.units_row);
            write_cells(&mut rows, Some(&names), before, out)?;
        }
        Format::Parquet => {
            write_cells(&mut ParquetRows::open(File::open(path)?)?, None, 0, out)?;
        }
        Format::JsonLines => {
            let open = || unpacked(path, looked.kind.compression);
            write_cells(&mut JsonRows::open(&open)?, None, 0, out)?;
        }
    }
    Ok(())
}

/// Writes names, if they are given, and the rows behind the first `before` with text. A row that
/// cannot be cut is written as its text.
fn write_cells(
    rows: &mut dyn TableRows,
    names: Option<&[String]>,
    mut before: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    if let Some(names) = names {
        let names: Vec<&[u8]> = names.iter().map(String::as_bytes).collect();
        write_row(&names, out)?;
    }
    while let Some(row) = rows.next_row()? {
        let cells: Vec<&[u8]> = match row.fault {
            Some(_) => vec![row.bytes],
            None => row.cells.iter().map(|cell| &row.bytes[cell.start..cell.end]).collect(),
        };
        if cells.iter().all(|cell| cell.trim_ascii().is_empty()) {
            continue;
        }
        match before {
            0 => write_row(&cells, out)?,
            _ => before -= 1,
        }
    }
    Ok(())
}
