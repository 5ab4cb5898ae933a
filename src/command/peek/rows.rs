//! Rows of files that carry their own cells: kept for a look, written as CSV whole.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

use super::kept::Kept;
use super::looked::Looked;
use super::sample::unpacked;
use crate::draft::SampleRows;
use crate::tabular::detect::{write_row, write_table};
use crate::tabular::profile::{ColumnProfile, Profiler};
use crate::tabular::{
    Cells, Format, JsonRows, ParquetRows, Room, Row, TableError, TableRows, Workbook, told_apart,
};

/// Rows taken for a look.
#[derive(Clone, Copy, Debug, Default)]
pub struct Taken {
    /// How many of them are text.
    pub rows: usize,
    /// Line of the last of them.
    pub last: u64,
    /// There are others behind them.
    pub more: bool,
}

/// Most rows that are looked at.
pub const MOST_ROWS: usize = 20_000;

/// Bytes that a look at the cells of rows may take.
const MOST_HELD: usize = 64 << 20;
/// Bytes that a cell takes, with text and without, beside its text.
const CELL: usize = 64;
const EMPTY_CELL: usize = 2;

/// The first rows as lines of text, a row a line, at most some `most` bytes: what would cut a cell
/// becomes a blank, and a quote at its beginning an apostrophe. Rows that are no text are left out.
///
/// # Errors
/// Reading, or damage among the rows.
pub fn as_text(rows: &mut dyn TableRows, most: usize) -> io::Result<(Vec<u8>, Taken)> {
    let (mut text, mut taken) = (String::new(), Taken::default());
    while let Some(row) = rows.next_row()? {
        if taken.rows == MOST_ROWS || text.len() >= most {
            taken.more = true;
            break;
        }
        let Some(cells) = cells(&row) else { continue };
        for place in 0..cells.count() {
            text.push_str(if place > 0 { "\t" } else { "" });
            let plain = |(at, c): (usize, char)| match c {
                '"' if at == 0 => '\'',
                c if c.is_control() => ' ',
                c => c,
            };
            text.extend(cells.get(place).char_indices().map(plain));
        }
        text.push('\n');
        (taken.rows, taken.last) = (taken.rows + 1, row.line);
    }
    Ok((text.into_bytes(), taken))
}

/// Profiles the columns of rows of which the first holds their names; with the names, as the file
/// has them.
///
/// # Errors
/// Reading, or damage among the rows, or more columns than there is room for.
pub fn profiled_rows(
    rows: &mut dyn TableRows,
    room: Room,
) -> Result<(Vec<String>, Vec<ColumnProfile>, SampleRows, Taken), TableError> {
    let mut taken = Taken { last: 1, ..Taken::default() };
    let Some(row) = rows.next_row()? else {
        return Ok((Vec::new(), Vec::new(), SampleRows::default(), taken));
    };
    room.check_columns(row.cells.len())?;
    let names: Vec<String> = cells(&row).map_or_else(Vec::new, |cells| {
        (0..cells.count()).map(|cell| cells.get(cell).to_owned()).collect()
    });
    let mut profiler = Profiler::new(&told_apart(&names));
    let mut kept = Kept::of(&told_apart(&names));
    let mut held = 0;
    while let Some(row) = rows.next_row()? {
        if taken.rows == MOST_ROWS || held > MOST_HELD {
            taken.more = true;
            break;
        }
        let Some(cells) = cells(&row) else { continue };
        let texts: Vec<&str> = (0..cells.count()).map(|cell| cells.get(cell)).collect();
        let weight = |text: &&str| if text.is_empty() { EMPTY_CELL } else { CELL + text.len() };
        held += texts.iter().map(weight).sum::<usize>();
        profiler.row(&texts);
        kept.row(&texts);
        (taken.rows, taken.last) = (taken.rows + 1, row.line);
    }
    Ok((names, profiler.finish(), kept.finish(), taken))
}

fn cells<'a>(row: &'a Row) -> Option<Cells<'a>> {
    if row.fault.is_none() { Cells::of(row).ok() } else { None }
}

/// Writes the table whole as RFC 4180.
///
/// # Errors
/// Reading or writing.
pub fn write_csv(
    path: &Path,
    looked: &Looked,
    room: Room,
    out: &mut dyn Write,
) -> anyhow::Result<()> {
    match looked.kind.format {
        Format::Text => {
            let bytes = unpacked(path, looked.kind.compression)?;
            write_table(&looked.detected, looked.detected.main, bytes, out)?;
        }
        Format::Workbook => {
            let mut book = Workbook::open(File::open(path)?, None, &[], room)?;
            let mut rows = book.rows()?;
            for _ in 0..looked.dialect.skip_lines {
                rows.next_row()?;
            }
            let names: Vec<String> =
                looked.columns.iter().map(|column| column.name.clone()).collect();
            let before = looked.dialect.header_rows + usize::from(looked.dialect.units_row);
            write_cells(&mut rows, Some((&names, before)), out)?;
        }
        Format::Parquet => {
            write_cells(&mut ParquetRows::open(File::open(path)?, room)?, None, out)?;
        }
        Format::JsonLines => {
            let open = || unpacked(path, looked.kind.compression);
            write_cells(&mut JsonRows::open(&open, room)?, None, out)?;
        }
    }
    Ok(())
}

/// Writes all rows; of a sheet its names, and the rows with text behind the first so many of them. A
/// row of a file whose rows are records is one though all its cells are empty. A row that cannot be
/// cut is written as its text.
fn write_cells(
    rows: &mut dyn TableRows,
    sheet: Option<(&[String], usize)>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let mut before = 0;
    if let Some((names, header)) = sheet {
        before = header;
        let names: Vec<&[u8]> = names.iter().map(String::as_bytes).collect();
        write_row(&names, out)?;
    }
    while let Some(row) = rows.next_row()? {
        let cells: Vec<&[u8]> = match row.fault {
            Some(_) => vec![row.bytes],
            None => row.cells.iter().map(|cell| &row.bytes[cell.start..cell.end]).collect(),
        };
        if sheet.is_some() && cells.iter().all(|cell| cell.trim_ascii().is_empty()) {
            continue;
        }
        match before {
            0 => write_row(&cells, out)?,
            _ => before -= 1,
        }
    }
    Ok(())
}
