//! Why a report could not be written. A report that fails leaves the last one as it was.

use std::io;
use std::path::PathBuf;

use crate::charts::PngError;

/// What kept the report from being written.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// A file or folder could not be written, synced or renamed.
    #[error("{path}: cannot be written: {source}", path = path.display())]
    Write {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Where a report is to go, or beside it, stands something that is none of this program's.
    #[error(
        "{path}: is not a report of this program (it has no run.json of its own), so it is not replaced; move it away \
         or name another folder with --out",
        path = path.display()
    )]
    NotOurs {
        /// What stands there.
        path: PathBuf,
    },
    /// The folder has no name of its own (a root, or `..`), so nothing can be put beside it.
    #[error("{path}: a report needs a folder with a name", path = path.display())]
    Nameless {
        /// The folder asked for.
        path: PathBuf,
    },
    /// A picture could not be turned into a PNG.
    #[error("charts/{name}.png: {source}")]
    Picture {
        /// The picture.
        name: &'static str,
        /// Why.
        source: PngError,
    },
    /// A table could not be written as Parquet.
    #[error("tables/{table}.parquet: {source}")]
    Parquet {
        /// The table.
        table: &'static str,
        /// Why.
        source: parquet::errors::ParquetError,
    },
    /// A table's columns did not fit together.
    #[error("tables/{table}.parquet: {source}")]
    Columns {
        /// The table.
        table: &'static str,
        /// Why.
        source: arrow::error::ArrowError,
    },
    /// The tables could not be written as a workbook.
    #[error("tables.xlsx: {source}")]
    Workbook {
        /// Why.
        source: rust_xlsxwriter::XlsxError,
    },
    /// A machine-readable file could not be put into words.
    #[error("{file}: {source}")]
    Json {
        /// The file.
        file: &'static str,
        /// Why.
        source: serde_json::Error,
    },
}
