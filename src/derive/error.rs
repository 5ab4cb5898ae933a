//! What can stop a derivation.

use arrow::error::ArrowError;
use chrono::NaiveDate;

use crate::calendar::Quarter;
use crate::intake::IntakeError;
use crate::store::StoreError;

/// Why a derivation ended early.
#[derive(Debug, thiserror::Error)]
pub enum DeriveError {
    /// The store could not be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An alias table of end-face names could not be read.
    #[error(transparent)]
    Names(#[from] IntakeError),
    /// A part of the store without a column of its schema.
    #[error(
        "the store has a part without a readable column `{name}`; run `motetrail verify` and take the exports in again"
    )]
    Column {
        /// Of the column.
        name: &'static str,
    },
    /// A thread ended without a result: a fault of this program.
    #[error("a working thread ended early; run again, and report it if it happens twice")]
    Thread,
    /// More sources than events can tell apart.
    #[error(
        "the settings name more than 65,535 sources; split the fleet into several settings files"
    )]
    TooManySources,
    /// The store holds no record with a time.
    #[error(
        "the store holds no inspections, cleanings or matings; check the `files` of the settings' sources"
    )]
    Empty,
    /// The period asked for lies outside the records.
    #[error("period {asked} has no records; they span {first} to {last}")]
    Period {
        /// The quarter asked for.
        asked: Quarter,
        /// The first with records.
        first: Quarter,
        /// The last with records.
        last: Quarter,
    },
    /// Without a stated day that of the last intake stands for it, and it does not fit the records.
    #[error(
        "the settings have no `as_of`, so records are taken to be complete on the day of the last intake that brought \
         some, {day}, but the newest record is of {newest}; check this machine's clock and the newest records, and \
         write into [fleet] the day on which the records were complete, such as: as_of = \"{newest}\""
    )]
    Clock {
        /// The day of the last intake that brought records.
        day: NaiveDate,
        /// The day of the newest look, mating, cleaning or fault.
        newest: NaiveDate,
    },
    /// The caller would not have this period.
    #[error(transparent)]
    Refused(Box<dyn std::error::Error + Send + Sync>),
    /// Counts that do not add up: a fault of this program.
    #[error(
        "count table `{table}`, column `{column}`: cells and off-table sum to {cells}, the total is {total}; this is a fault of the program, please report it"
    )]
    Sum {
        /// Name of the table.
        table: &'static str,
        /// Name of the figure.
        column: &'static str,
        /// Sum of the cells and of what is off the table.
        cells: i64,
        /// Everything that was added.
        total: i64,
    },
    /// A stream of a worker that is none of this program's.
    #[error("a worker's stream: {why}; run the whole job again, and report it if it happens twice")]
    Stream {
        /// What is wrong with it.
        why: String,
    },
    /// A stream for another version of the program, or made with other settings.
    #[error(
        "a worker's stream is of another program or of other settings: `{what}` found {found}, expected {expected}; write \
         the job again with `motetrail cluster`, and use one job folder at a time"
    )]
    Sealed {
        /// Key of the schema's metadata.
        what: &'static str,
        /// What stands there.
        found: String,
        /// What this worker has.
        expected: String,
    },
    /// No error: a worker has handed its share on, and nothing after it is its work.
    #[error("the share was handed on")]
    HandedOn,
    /// A count table that cannot be grouped: a fault of this program.
    #[error("grouping a count table failed: {0}")]
    Frame(String),
    /// A count table that Arrow refuses: a fault of this program.
    #[error("a count table does not fit Arrow: {0}")]
    Arrow(#[from] ArrowError),
}
