//! Reads one export of text from its first byte to its last.

use std::io::{self, Read};

use super::error::IntakeError;
use super::export::{At, Export, ReadCounts, Sink};
use super::reading::read_rows;
use super::side_by_side::side_by_side;
use crate::tabular::{Compression, Rows, TableError, rows_of};

/// Reads an export of text and hands its records and rejected rows to a sink, in order of arrival
/// inside each table. Memory does not grow with the file.
///
/// # Errors
/// When the file as a whole cannot be read, or the sink refuses something. What the sink was
/// handed until then is to be thrown away.
pub fn read_export(
    export: &Export,
    bytes: impl Read,
    compression: Compression,
    sink: &mut dyn Sink,
) -> Result<ReadCounts, IntakeError> {
    let _beside = side_by_side();
    let failed = |at: At, cause| match compression {
        Compression::None => IntakeError::Unreadable { file: export.file.to_owned(), cause },
        packed => damaged(export.file, packed.name(), at, cause),
    };
    let stream = compression.unpack(bytes).map_err(|cause| failed(At::START, cause))?;
    let dialect = &export.source.dialect;
    let mut rows = opened_rows(export, stream, &failed)?;
    read_rows(export, dialect, &mut rows, &failed, sink)
}

/// The rows of a stream of text, before any of them.
pub(super) fn opened_rows<'r>(
    export: &Export,
    stream: Box<dyn Read + 'r>,
    failed: &dyn Fn(At, io::Error) -> IntakeError,
) -> Result<Rows<'r>, IntakeError> {
    rows_of(&export.source.dialect, stream).map_err(|cause| {
        // What was found by us is told in our words, and is not damage.
        match cause.get_ref().is_some_and(|inner| inner.is::<TableError>()) {
            true => IntakeError::Table {
                file: export.file.to_owned(),
                cause: TableError::of_stream("text", cause),
            },
            false => failed(At::START, cause),
        }
    })
}

/// A file of which only the beginning is what it should be.
pub(super) fn damaged(
    file: &str,
    format: &'static str,
    At { line, rows }: At,
    cause: io::Error,
) -> IntakeError {
    let file = file.to_owned();
    // What was found by us is told in our words.
    if cause.get_ref().is_some_and(|inner| inner.is::<TableError>()) {
        let cause = TableError::of_stream(format, cause);
        return IntakeError::Stopped { file, line, rows, cause };
    }
    IntakeError::Damaged { file, format, line, rows, cause }
}
