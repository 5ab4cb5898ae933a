//! Looks at a file of any kind: what it is, how it is written, what its columns hold.

use std::fs::File;
use std::io::Cursor;
use std::path::Path;

use super::facts::DoubtFact;
use super::found::{facts_of_text, no_facts, table_facts};
use super::kept::Kept;
use super::looked::Looked;
use super::paste::paste;
use super::rows::{MOST_ROWS, Taken, as_text, profiled_rows};
use super::sample::{HEAD, Kind, kind, sample};
use crate::draft::SampleRows;
use crate::settings::{Dialect, Separator};
use crate::tabular::detect::{Detected, GUESSED, Sample, detect, detect_cut};
use crate::tabular::profile::{ColumnProfile, Profiler};
use crate::tabular::{
    Cells, Format, JsonRows, ParquetRows, Room, TableError, TableRows, Workbook, rows_of,
    told_apart,
};

/// Looks at a file. `room`: the memory that may take.
///
/// # Errors
/// A file that cannot be read, or is damaged where it is looked at, or for which there is no room.
pub fn look(path: &Path, room: Room) -> anyhow::Result<Looked> {
    let named = |error: anyhow::Error| error.context(path.display().to_string());
    let kind = kind(path).map_err(|error| named(error.into()))?;
    let mut looked = match kind.format {
        Format::Text => text(path, kind, room),
        Format::Workbook => workbook(path, kind, room),
        Format::Parquet => parquet(path, kind, room),
        Format::JsonLines => json_lines(path, kind, room),
    }
    .map_err(named)?;
    looked.facts.doubts.extend(misnamed(path, kind));
    Ok(looked)
}

fn text(path: &Path, kind: Kind, room: Room) -> anyhow::Result<Looked> {
    let sample = sample(path, kind.compression)?;
    let detected = detect(&sample);
    check_columns(&detected, room)?;
    let dialect = detected.dialect.clone();
    let (columns, kept) = profiled(&detected, &dialect, &sample)?;
    let guess = detected.doubts.iter().find(|doubt| doubt.what.starts_with(GUESSED));
    let guessed_encoding = guess.map(|doubt| doubt.evidence.clone());
    let mut facts = no_facts(path, kind, "text".to_owned())?;
    if !sample.whole {
        let end = if sample.tail.is_some() { " and the last 64 KiB" } else { "" };
        facts.sample = Some(format!("the first {} MiB{end}", sample.head.len() >> 20));
    }
    facts_of_text(&detected, &mut facts);
    facts.settings = paste(&dialect);
    facts.columns = columns.clone();
    Ok(Looked { kind, dialect, detected, columns, rows: kept, guessed_encoding, facts })
}

fn check_columns(detected: &Detected, room: Room) -> Result<(), TableError> {
    let main = detected.tables.get(detected.main);
    room.check_columns(main.map_or(0, |table| table.names.len()))
}

/// Profiles of the columns of the main table, from its rows in the sample.
fn profiled(
    detected: &Detected,
    dialect: &Dialect,
    sample: &Sample,
) -> anyhow::Result<(Vec<ColumnProfile>, SampleRows)> {
    let Some(table) = detected.tables.get(detected.main) else { return Ok(Default::default()) };
    let mut kept = Kept::of(&told_apart(&table.names));
    let mut profiler = Profiler::new(&told_apart(&table.names));
    let mut rows = rows_of(dialect, Box::new(Cursor::new(&sample.head)))?;
    let mut before_data = dialect.header_rows + usize::from(dialect.units_row);
    let mut taken = 0;
    while taken < MOST_ROWS {
        let Some(row) = rows.next_row()? else { break };
        if table.last_line.is_some_and(|last| row.line > last) {
            break;
        }
        let cells = if row.fault.is_none() { Cells::of(&row).ok() } else { None };
        let Some(cells) = cells.filter(|cells| !cells.are_blank()) else { continue };
        if before_data > 0 {
            before_data -= 1;
            continue;
        }
        let texts: Vec<&str> = (0..cells.count()).map(|cell| cells.get(cell)).collect();
        profiler.row(&texts);
        kept.row(&texts);
        taken += 1;
    }
    Ok((profiler.finish(), kept.finish()))
}

fn workbook(path: &Path, kind: Kind, room: Room) -> anyhow::Result<Looked> {
    let mut book = Workbook::open(File::open(path)?, None, &[], room)?;
    let (text, taken) = as_text(&mut book.rows()?, HEAD)?;
    let facts = book.facts();
    let sheet = &facts.sheets[facts.chosen];
    let format = format!("workbook, sheet {:?}", sheet.name);
    let mut looked = of_cells(path, kind, format, text, taken, room)?;
    looked.dialect.sheet = (facts.sheets.len() > 1).then(|| sheet.name.clone());
    looked.facts.settings = paste(&looked.dialect);
    looked.facts.doubts.extend(super::found::workbook_doubts(facts));
    Ok(looked)
}

/// Finds the table among rows of cells: they are written as text and looked at like text.
fn of_cells(
    path: &Path,
    kind: Kind,
    format: String,
    text: Vec<u8>,
    taken: Taken,
    room: Room,
) -> anyhow::Result<Looked> {
    let sample = Sample { head: text, whole: !taken.more, tail: None };
    // The cells are the workbook's own: their commas cut nothing.
    let detected = detect_cut(&sample, Some(Separator::Byte(b'\t')));
    check_columns(&detected, room)?;
    let (columns, kept) = profiled(&detected, &detected.dialect, &sample)?;
    // Cells need no separators: of what was found only the place of the table is the file's own.
    let found = &detected.dialect;
    let dialect = Dialect {
        skip_lines: found.skip_lines,
        header_rows: found.header_rows,
        units_row: found.units_row,
        decimal_mark: found.decimal_mark,
        ..Dialect::default()
    };
    let mut facts = no_facts(path, kind, format)?;
    if taken.more {
        facts.sample = Some(format!("the first {} rows", taken.rows));
    }
    table_facts(&detected, &mut facts);
    facts.settings = paste(&dialect);
    facts.columns = columns.clone();
    Ok(Looked { kind, dialect, detected, columns, rows: kept, guessed_encoding: None, facts })
}

fn parquet(path: &Path, kind: Kind, room: Room) -> anyhow::Result<Looked> {
    let mut rows = ParquetRows::open(File::open(path)?, room)?;
    named(path, kind, "Parquet".to_owned(), &mut rows, room)
}

fn json_lines(path: &Path, kind: Kind, room: Room) -> anyhow::Result<Looked> {
    let open = || super::sample::unpacked(path, kind.compression);
    let mut rows = JsonRows::open(&open, room)?;
    let format =
        if rows.is_array() { "an array of JSON objects" } else { "one JSON object a line" };
    named(path, kind, format.to_owned(), &mut rows, room)
}

/// A file whose first row is the names of its columns, for certain.
fn named(
    path: &Path,
    kind: Kind,
    format: String,
    rows: &mut dyn TableRows,
    room: Room,
) -> anyhow::Result<Looked> {
    let (names, columns, kept, taken) = profiled_rows(rows, room)?;
    let mut facts = no_facts(path, kind, format)?;
    facts.header_rows = 1;
    facts.header_line = (!names.is_empty()).then_some(1);
    facts.tables = super::found::named_table(taken, names.len());
    if taken.more {
        facts.sample = Some(format!("the first {} rows", taken.rows));
    }
    facts.columns = columns.clone();
    let (dialect, detected) = (Dialect::default(), Detected::default());
    Ok(Looked { kind, dialect, detected, columns, rows: kept, guessed_encoding: None, facts })
}

/// Intake goes by the name of a file: one whose bytes are something else would be misread.
fn misnamed(path: &Path, kind: Kind) -> Option<DoubtFact> {
    let name = path.file_name()?.to_string_lossy();
    let (format, compression) = (Format::of(&name), crate::tabular::Compression::of(&name));
    let expected = Kind { format, compression };
    (expected != kind).then(|| DoubtFact {
        what: "The name of the file does not say what it is; intake goes by the name".to_owned(),
        evidence: format!(
            "by its name it is {} ({}), by its bytes {} ({})",
            expected.format.name(),
            expected.compression.name(),
            kind.format.name(),
            kind.compression.name()
        ),
    })
}
