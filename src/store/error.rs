//! What can go wrong between the store and the disk.

use std::io;
use std::path::{Path, PathBuf};

use parquet::errors::ParquetError;
use thiserror::Error;

use crate::intake::IntakeError;

/// A failure of the store. Whatever it is, the store on disk is whole: as it was before the call or,
/// should the very last step have failed, as it was to be. Fields are the parts of the message: `path`
/// and `file` say where, `found` and `expected` what.
#[derive(Debug, Error)]
pub enum StoreError {
    /// Another process has the store open.
    #[error("{}: the store is in use by {holder}; wait until it has finished", path.display())]
    Busy {
        /// The file or folder.
        path: PathBuf,
        /// Who holds the lock.
        holder: String,
    },
    /// The folder holds something else.
    #[error("{}: is not empty and not a store (found {found}); \
         name a new or an empty folder as `store` in the settings", path.display())]
    NotAStore {
        /// The file or folder.
        path: PathBuf,
        /// What was found.
        found: String,
    },
    /// There is no store, where one is to be looked at.
    #[error("{}: there is no store yet; `motetrail intake` makes one", path.display())]
    NoStore {
        /// The file or folder.
        path: PathBuf,
    },
    /// A store that was opened to look at it is to be changed: a fault of this program.
    #[error("{}: was opened to look at it and not to change it; report this", path.display())]
    NotToChange {
        /// The file or folder.
        path: PathBuf,
    },
    /// A file of the store that must not be used as it is, whole or not. `todo` is a command.
    #[error("{}: {why}; {todo}, then run again", path.display())]
    Refused {
        /// The file or folder.
        path: PathBuf,
        /// Why, in words.
        why: String,
        /// What to do.
        todo: &'static str,
    },
    /// Parts without the manifest that says what they are.
    #[error("{}: found {found}, but no manifest; restore manifest.json from the same backup, \
         or run `motetrail verify --rebuild` to make one from what the parts say of themselves, \
         or name an empty folder as `store`", path.display())]
    NoManifest {
        /// The file or folder.
        path: PathBuf,
        /// What was found.
        found: String,
    },
    /// Parts that the manifest does not know and that no unfinished run left: it is older than they are.
    #[error("{}: is older than {files} beside it; restore the newest manifest.json, \
         or run `motetrail verify --rebuild` to make one from what the parts say of themselves, \
         or name an empty folder as `store`", path.display())]
    OldManifest {
        /// The file or folder.
        path: PathBuf,
        /// The files, listed.
        files: String,
    },
    /// The machine's clock stands at no day that a record could be of.
    #[error("the machine's clock stands at {found}, expected a day since 1970; set the clock")]
    Clock {
        /// What was found.
        found: String,
    },
    /// The operating system refused. `doing` is an infinitive such as `write`.
    #[error("{}: cannot {doing}: {source}; check the disk and the rights, then run again", path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What the system said.
        source: io::Error,
    },
    /// An export cannot be read at all.
    #[error("{}: cannot read this export: {source}; \
         make it readable or take it out of the source's `files`", path.display())]
    Unreadable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// What a pattern names is no file, so there may be no end to it.
    #[error("{}: found {kind}, expected a file; take it out of the source's `files`", path.display())]
    NotAFile {
        /// The file or folder.
        path: PathBuf,
        /// What it is instead.
        kind: &'static str,
    },
    /// Two files whose names differ only in bytes that are no text.
    #[error("{file}: another file of this source has the same name as text; rename one of them")]
    SameName {
        /// Name of the export.
        file: String,
    },
    /// An export can be read but is not what its map says.
    #[error(transparent)]
    Export(Box<IntakeError>),
    /// An export was written to while it was read.
    #[error("{file}: has changed while it was read; run again when nothing writes to it")]
    Changed {
        /// Name of the export.
        file: String,
    },
    /// A pattern of the settings is no glob.
    #[error(
        "source \"{name}\": the file pattern \"{pattern}\" cannot be used: {why}; \
         correct it in the settings"
    )]
    Pattern {
        /// Name of the source.
        name: String,
        /// The pattern as it is typed.
        pattern: String,
        /// Why, in words.
        why: String,
    },
    /// A file of the store is missing or not what the manifest says.
    #[error(
        "{}: {why}; {todo}",
        path.display()
    )]
    Damaged {
        /// The file or folder.
        path: PathBuf,
        /// Why, in words.
        why: String,
        /// What to do.
        todo: String,
    },
    /// The store was written by another version of this program.
    #[error(
        "{}: has schema version {found}, expected {expected}; use the version \
         that wrote it, or name an empty folder as `store` and read every export anew",
        path.display()
    )]
    Version {
        /// The file or folder.
        path: PathBuf,
        /// Version of what is there.
        found: u32,
        /// Version that this program reads.
        expected: u32,
    },
    /// A table has no such column.
    #[error("table {table} has no column \"{column}\"")]
    NoColumn {
        /// Name of the table.
        table: &'static str,
        /// Name of the column.
        column: String,
    },
    /// Record numbers within a part have 32 bits.
    #[error("{file}: yields more than 4294967295 records of table {table}; split the export")]
    TooLong {
        /// Name of the export.
        file: String,
        /// Name of the table.
        table: &'static str,
    },
    /// Rows of an export got lost on the way: a fault of this program.
    #[error(
        "{file}: {found} rows accounted for, {expected} read ({what}); \
         nothing was kept, report this"
    )]
    Unbalanced {
        /// Name of the export.
        file: String,
        /// What was counted.
        what: &'static str,
        /// How many were counted.
        found: u64,
        /// How many there should be.
        expected: u64,
    },
}

impl StoreError {
    /// Whether it is one export's own failure, so that the others can be taken without it. Not one: a
    /// failing disk, damage in the store, a map that cannot be followed, rows that got lost.
    pub(super) fn is_of_export(&self) -> bool {
        match self {
            StoreError::Unreadable { .. }
            | StoreError::NotAFile { .. }
            | StoreError::SameName { .. }
            | StoreError::Changed { .. }
            | StoreError::TooLong { .. } => true,
            StoreError::Export(error) => match **error {
                IntakeError::Unreadable { .. }
                | IntakeError::Damaged { .. }
                | IntakeError::Table { .. }
                | IntakeError::Stopped { .. }
                | IntakeError::NoHeader { .. }
                | IntakeError::BadHeader { .. }
                | IntakeError::MissingColumn { .. }
                | IntakeError::DoubleColumn { .. }
                | IntakeError::TooManyNames { .. } => true,
                IntakeError::Map { .. }
                | IntakeError::Aliases { .. }
                | IntakeError::Sink { .. }
                | IntakeError::Batch { .. } => false,
            },
            _ => false,
        }
    }

    /// An I/O failure at `path`, for `map_err`.
    pub(super) fn io(path: &Path, doing: &'static str) -> impl FnOnce(io::Error) -> StoreError {
        move |source| StoreError::Io { path: path.to_path_buf(), doing, source }
    }

    /// A failure of the Parquet writer: the disk's, since the store never hands it a wrong batch.
    pub(super) fn writing(path: &Path) -> impl FnOnce(ParquetError) -> StoreError {
        move |error| StoreError::Io {
            path: path.to_path_buf(),
            doing: "write",
            source: io::Error::other(error),
        }
    }

    /// A file of the store that is not what it should be.
    pub(super) fn damaged(path: &Path, why: impl ToString) -> StoreError {
        let todo = "restore the store from a backup, or run `motetrail verify --rebuild` to go on with \
                    what is whole";
        StoreError::Damaged { path: path.to_path_buf(), why: why.to_string(), todo: todo.into() }
    }

    /// The same, where it is known how many of its records could be read.
    pub(super) fn behind(self, records: usize) -> StoreError {
        match self {
            StoreError::Damaged { path, why, todo } => StoreError::Damaged {
                path,
                why: format!("{why} (behind {records} of its records)"),
                todo,
            },
            other => other,
        }
    }

    /// The same, where it is known from which export the damaged file was made.
    pub(super) fn of_export(self, source: &str, file: &str) -> StoreError {
        match self {
            StoreError::Damaged { path, why, .. } => {
                StoreError::Damaged { path, why, todo: read_again(source, file) }
            }
            other => other,
        }
    }
}

/// What to do about damage in what was made from an export.
pub(super) fn read_again(source: &str, file: &str) -> String {
    format!(
        "restore the store from a backup; or run `motetrail verify --rebuild`, which sets what is \
         damaged aside, and then `motetrail intake` with {file} of source {source} in place to read it \
         again"
    )
}
