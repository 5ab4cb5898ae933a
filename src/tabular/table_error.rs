//! Why a file as a whole cannot be read as a table.
//!
//! Messages say what was found, what was expected and what to do. They name no file: whoever opened
//! it puts its name in front.

use std::io;

/// Why a file as a whole cannot be read as a table.
#[derive(Debug, thiserror::Error)]
pub enum TableError {
    /// The file cannot be read.
    #[error("cannot be read ({0})")]
    Unreadable(#[from] io::Error),
    /// Not a whole file of its kind.
    #[error("found damage ({cause}), expected a whole {kind} file; export or copy it again")]
    Damaged {
        /// Kind of file.
        kind: &'static str,
        /// What went wrong.
        cause: String,
    },
    /// A zip file that holds no file.
    #[error("found a zip file with nothing in it, expected one file; pack the export again")]
    ZipEmpty,
    /// A zip file with several files.
    #[error(
        "found a zip file with {count} files ({}), expected one; unpack it and name the files in \
         the source", members.join(", ")
    )]
    ZipMembers {
        /// How many members there are.
        count: usize,
        /// Names of the first of them.
        members: Vec<String>,
    },
    /// Packed in a way that is not read.
    #[error(
        "found {member:?} packed as {method}, expected stored or deflated; pack it as plain zip"
    )]
    ZipMethod {
        /// Name of the member.
        member: String,
        /// How it is packed.
        method: String,
    },
    /// Columns packed in a way that is not read.
    #[error(
        "found columns packed as {method}, expected snappy, gzip, lz4 or zstd; write the file with \
         one of these"
    )]
    ColumnMethod {
        /// How it is packed.
        method: String,
    },
    /// A zip file is read from its end.
    #[error("found a zip file in a stream, expected a file on disk; store the export as a file")]
    ZipStream,
    /// A kind of file that is not read while it is packed.
    #[error("found a {format} file packed with {packed}, expected it unpacked; unpack it")]
    Packed {
        /// Kind of file.
        format: &'static str,
        /// How it is packed.
        packed: &'static str,
    },
    /// Locked with a password.
    #[error("found a file locked with a password, expected an open one; save it without")]
    Encrypted,
    /// Packed bytes that become far too many.
    #[error(
        "found {packed} packed bytes that become more than {unpacked}, expected no more than \
         {most} times as many; unpack the file and look at it before it is read"
    )]
    Bomb {
        /// Bytes of it that were read.
        packed: u64,
        /// Bytes that it became so far.
        unpacked: u64,
        /// Most unpacked bytes a packed one.
        most: u64,
    },
    /// More of something than is read.
    #[error("found {found} {what}, expected at most {most}; {advice}")]
    TooMany {
        /// What there are too many of.
        what: &'static str,
        /// How many there are.
        found: u64,
        /// The most that is allowed.
        most: u64,
        /// What to do.
        advice: &'static str,
    },
    /// What must be held would take too much memory; MiB. `needed`: the whole room of which it would
    /// be its share.
    #[error(
        "found {what} {takes} MiB of memory, expected at most {most} MiB; {advice}, or raise \
         `memory_mib` under [rules] (of `peek`: --memory-mib) to {needed}"
    )]
    NoRoom {
        /// What takes the room.
        what: &'static str,
        /// What it takes, MiB.
        takes: u64,
        /// The most that is allowed.
        most: u64,
        /// What it would need, MiB.
        needed: u64,
        /// What to do.
        advice: &'static str,
    },
    /// A workbook of before 2007, or one locked with a password.
    #[error(
        "found a workbook in the old format (or locked with a password), expected XLSX or ODS; \
         save it as XLSX without a password"
    )]
    OldWorkbook,
    /// A file of a kind that is not read, or not under such a name.
    #[error(
        "found {found}, expected a table as text, XLSX, ODS, Parquet or JSON under a name that says \
         so; {advice}"
    )]
    OtherKind {
        /// What was found.
        found: &'static str,
        /// What to do.
        advice: &'static str,
    },
    /// A zip file that is no workbook.
    #[error("found no workbook in the file, expected XLSX or ODS; save it as XLSX")]
    NoWorkbook,
    /// The sheet that the settings name is not there.
    #[error("found no sheet {wanted:?}, expected it among {}; correct `sheet`", found.join(", "))]
    NoSheet {
        /// The sheet that was asked for.
        wanted: String,
        /// Names of the sheets that there are.
        found: Vec<String>,
    },
    /// The file was written to between two readings.
    #[error(
        "found a column that was not there a moment ago, expected a file at rest; read it again"
    )]
    Changed,
}

impl From<TableError> for io::Error {
    fn from(error: TableError) -> Self {
        match error {
            TableError::Unreadable(cause) => cause,
            other => Self::new(io::ErrorKind::InvalidData, other),
        }
    }
}

impl TableError {
    /// Takes one of these back out of the error of a stream; what else broke a stream of that kind
    /// is damage, unless the system says that it could not read.
    pub(crate) fn of_stream(kind: &'static str, error: io::Error) -> Self {
        let ours = error.get_ref().is_some_and(|inner| inner.is::<Self>());
        if ours {
            let inner = error.into_inner().and_then(|inner| inner.downcast::<Self>().ok());
            return inner.map_or(Self::NoWorkbook, |inner| *inner);
        }
        match error.kind() {
            io::ErrorKind::InvalidData
            | io::ErrorKind::InvalidInput
            | io::ErrorKind::UnexpectedEof
            | io::ErrorKind::Other => Self::Damaged { kind, cause: error.to_string() },
            _ => Self::Unreadable(error),
        }
    }
}
