//! What stops the reading of a whole export. A row that cannot be typed is no error: it is a
//! [`super::Rejected`].

use std::error::Error;
use std::io;

use arrow::error::ArrowError;

use super::people::names::MOST_NAMES;
use crate::tabular::TableError;

/// Why the receiver of an export's records could not take them.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct SinkError(#[source] Box<dyn Error + Send + Sync>);

impl SinkError {
    /// Wraps the receiver's own error.
    pub fn new(cause: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self(cause.into())
    }
}

/// Why an export cannot be read at all.
#[derive(Debug, thiserror::Error)]
pub enum IntakeError {
    /// The file cannot be read.
    #[error("{file}: cannot be read ({cause}); check that it exists and may be read")]
    Unreadable {
        /// Name of the export.
        file: String,
        /// What went wrong.
        cause: io::Error,
    },
    /// The file is not what its ending says, or part of it is lost.
    #[error(
        "{file}: found damage after {rows} rows, at line {line} ({cause}), expected a whole {format} file; \
         export or copy it again"
    )]
    Damaged {
        /// Name of the export.
        file: String,
        /// Kind of file.
        format: &'static str,
        /// Line where the next row begins, from 1.
        line: u64,
        /// Rows read before.
        rows: u64,
        /// What went wrong.
        cause: io::Error,
    },
    /// The file is no table of its kind.
    #[error("{file}: {cause}")]
    Table {
        /// Name of the export.
        file: String,
        /// What went wrong.
        cause: TableError,
    },
    /// The file is a table of its kind only up to a point.
    #[error("{file}: after {rows} rows, at line {line}: {cause}")]
    Stopped {
        /// Name of the export.
        file: String,
        /// Line where the next row begins, from 1.
        line: u64,
        /// Rows read before.
        rows: u64,
        /// What went wrong.
        cause: TableError,
    },
    /// There is text, but none where the header should stand.
    #[error("{file}:{line} found no header line, expected the column names; check `skip_lines`")]
    NoHeader {
        /// Name of the export.
        file: String,
        /// Line of the file, from 1.
        line: u64,
    },
    /// The header line itself cannot be cut or decoded.
    #[error("{file}:{line} the header {reason}")]
    BadHeader {
        /// Name of the export.
        file: String,
        /// Line of the file, from 1.
        line: u64,
        /// Why, in words.
        reason: String,
    },
    /// A column that the map reads is not in the header.
    #[error(
        "{file}:{line} column {column:?} is not in the header, found {}{}; \
         correct the map or the dialect of this source",
        listed(found), nearest.as_ref().map(|n| format!(" (nearest: {n:?})")).unwrap_or_default()
    )]
    MissingColumn {
        /// Name of the export.
        file: String,
        /// Line of the file, from 1.
        line: u64,
        /// Name of the column.
        column: String,
        /// The columns that there are.
        found: Vec<String>,
        /// The column that was probably meant.
        nearest: Option<String>,
    },
    /// A column that the map reads is in the header more than once.
    #[error(
        "{file}:{line} column {column:?} is in the header at positions {first} and {second}, \
         expected it once; name the one meant by \"{column} #1\" or \"{column} #2\" in the map"
    )]
    DoubleColumn {
        /// Name of the export.
        file: String,
        /// Line of the file, from 1.
        line: u64,
        /// Name of the column.
        column: String,
        /// Place of the first, from 1.
        first: usize,
        /// Place of the second, from 1.
        second: usize,
    },
    /// People's cells hold more texts than people could have names.
    #[error(
        "{file}:{line} the columns of people hold more than {MOST_NAMES} different texts, expected names; \
         take a column of free text out of `people`: what the map does not read is kept nowhere"
    )]
    TooManyNames {
        /// Name of the export.
        file: String,
        /// Line of the row that has one more, from 1.
        line: u64,
    },
    /// A part of the map cannot be followed.
    #[error("settings line {line}: source {source_name:?}, column {column:?}: {reason}")]
    Map {
        /// Name of the source.
        source_name: String,
        /// Line of the file, from 1.
        line: usize,
        /// Name of the column.
        column: String,
        /// Why, in words.
        reason: String,
    },
    /// An alias table of end-face names cannot be used.
    #[error("{file}:{line} {reason}")]
    Aliases {
        /// Path of the table, relative to the settings' folder.
        file: String,
        /// Line of the file, from 1.
        line: u64,
        /// What was found and expected.
        reason: String,
    },
    /// The receiver of the records refused them.
    #[error("{file}: {cause}")]
    Sink {
        /// Name of the export.
        file: String,
        /// What went wrong.
        cause: SinkError,
    },
    /// Typed columns could not be put together as Arrow arrays.
    #[error("{file}: a batch of {table} could not be built: {cause}")]
    Batch {
        /// Name of the export.
        file: String,
        /// Name of the table.
        table: &'static str,
        /// What went wrong.
        cause: ArrowError,
    },
}

/// Most columns of a header that a message names, and most characters of each.
const SHOWN: [usize; 2] = [30, 60];

fn listed(names: &[String]) -> String {
    let [most, longest] = SHOWN;
    let cut = |name: &String| name.chars().take(longest).collect::<String>();
    let shown = names.iter().take(most).map(cut).collect::<Vec<_>>().join(", ");
    match names.len().checked_sub(most) {
        Some(more @ 1..) => format!("{shown} and {more} more"),
        _ => shown,
    }
}
