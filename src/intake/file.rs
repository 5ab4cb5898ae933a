//! Reads an export from a file of any kind.

use std::fs::File;
use std::io;
use std::sync::PoisonError;

use super::error::IntakeError;
use super::export::{At, Export, ReadCounts, Sink};
use super::reading::read_rows;
use super::side_by_side::{ROOM_MIB, SIDE_BY_SIDE, side_by_side};
use super::stream::{damaged, opened_rows};
use crate::settings::{Dialect, ShortRows, Source};
use crate::tabular::{
    Compression, Format, JsonRows, ParquetRows, Room, TableError, TableRows, Workbook,
};

/// What a file is, by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Form {
    /// Kind of table in it.
    pub format: Format,
    /// How it is packed.
    pub compression: Compression,
}

impl Form {
    /// By the endings of a file's name.
    pub fn of(file_name: &str) -> Self {
        Self { format: Format::of(file_name), compression: Compression::of(file_name) }
    }

    /// Whether one pass from its first byte to its last is enough.
    pub fn is_stream(self) -> bool {
        self.format == Format::Text && self.compression != Compression::Zip
    }
}

/// Reads an export that may need more than one pass; `open` opens it from its beginning. Hands its
/// records and rejected rows to a sink as [`super::read_export`] does. One for which there is no room
/// beside others waits until it is alone.
///
/// # Errors
/// When the file as a whole cannot be read, or the sink refuses something.
pub fn read_file(
    export: &Export,
    form: Form,
    open: &dyn Fn() -> io::Result<File>,
    sink: &mut dyn Sink,
) -> Result<ReadCounts, IntakeError> {
    let most = export.plan.rules.memory_mib;
    let beside = side_by_side();
    let read = read_within(export, form, open, Room::of_mib(most.min(ROOM_MIB)), sink);
    drop(beside);
    // Room is asked for before the first row is handed on.
    let too_large =
        |error| matches!(error, &IntakeError::Table { cause: TableError::NoRoom { .. }, .. });
    if most > ROOM_MIB && read.as_ref().err().is_some_and(too_large) {
        let _alone = SIDE_BY_SIDE.write().unwrap_or_else(PoisonError::into_inner);
        return read_within(export, form, open, Room::of_mib(most), sink);
    }
    read
}

fn read_within(
    export: &Export,
    form: Form,
    open: &dyn Fn() -> io::Result<File>,
    room: Room,
    sink: &mut dyn Sink,
) -> Result<ReadCounts, IntakeError> {
    let dialect = &export.source.dialect;
    let refused = |cause| IntakeError::Table { file: export.file.to_owned(), cause };
    let opened = || open().map_err(|cause| refused(cause.into()));
    let unpacked = || form.compression.unpack_file(open()?);
    let failed = |at, cause| damaged(export.file, form.format.name(), at, cause);
    if form.compression != Compression::None
        && matches!(form.format, Format::Workbook | Format::Parquet)
    {
        let (format, packed) = (form.format.name(), form.compression.name());
        return Err(refused(TableError::Packed { format, packed }));
    }
    match form.format {
        Format::Text => {
            let stream = unpacked();
            let stream = stream.map_err(|cause| refused(TableError::of_stream("zip", cause)))?;
            let mut rows = opened_rows(export, stream, &failed)?;
            read_rows(export, dialect, &mut rows, &failed, sink)
        }
        Format::Workbook => {
            let wanted = wanted(export.source);
            let book = Workbook::open(opened()?, dialect.sheet.as_deref(), &wanted, room);
            let mut book = book.map_err(refused)?;
            let mut rows = book.rows().map_err(refused)?;
            for _ in 0..dialect.skip_lines {
                rows.next_row().map_err(|cause| failed(At::START, cause))?;
            }
            read_rows(export, dialect, &mut rows, &failed, sink)
        }
        Format::Parquet => {
            let mut rows = ParquetRows::open(opened()?, room).map_err(refused)?;
            read_rows(export, &with_names(dialect), &mut rows, &failed, sink)
        }
        Format::JsonLines => {
            let mut rows = JsonRows::open(&unpacked, room).map_err(refused)?;
            read_rows(export, &with_names(dialect), &mut rows, &failed, sink)
        }
    }
}

/// The dialect for a file that carries the names of its columns itself, as its first row.
fn with_names(dialect: &Dialect) -> Dialect {
    Dialect { header_rows: 1, units_row: false, short_rows: ShortRows::Pad, ..dialect.clone() }
}

/// The export columns that a source's map reads: they tell the right sheet of a workbook.
fn wanted(source: &Source) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for record in &source.records {
        names.extend(record.columns.values().flatten().cloned());
        names.extend(record.when.iter().map(|when| when.column.clone()));
    }
    names.sort();
    names.dedup();
    names
}
