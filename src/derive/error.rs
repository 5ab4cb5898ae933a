//! What can stop a derivation.

use arrow::error::ArrowError;
use chrono::NaiveDate;

use super::calendar::Quarter;
use crate::store::StoreError;

/// Why a derivation ended early.
#[derive(Debug, thiserror::Error)]
pub enum DeriveError {
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A part of the store without a column of its schema.
    #[error(
        "the store has a part without a readable column `{name}`; run `motetrail verify` and take the exports in again"
    )]
    Column { name: &'static str },
    #[error("a working thread ended early; run again, and report it if it happens twice")]
    Thread,
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
    Period { asked: Quarter, first: Quarter, last: Quarter },
    /// Without a stated day that of the last intake stands for it, and it does not fit the records.
    #[error(
        "the settings have no `as_of`, so records are taken to be complete on the day of the last intake that brought \
         some, {day}, but the newest record is of {newest}; check this machine's clock and the newest records, and \
         write into [fleet] the day on which the records were complete, such as: as_of = \"{newest}\""
    )]
    Clock { day: NaiveDate, newest: NaiveDate },
    /// The caller would not have this period.
    #[error(transparent)]
    Refused(Box<dyn std::error::Error + Send + Sync>),
    /// Counts that do not add up: a fault of this program.
    #[error(
        "count table `{table}`, column `{column}`: cells and off-table sum to {cells}, the total is {total}; this is a fault of the program, please report it"
    )]
    Sum { table: &'static str, column: &'static str, cells: i64, total: i64 },
    #[error("grouping a count table failed: {0}")]
    Frame(String),
    #[error("a count table does not fit Arrow: {0}")]
    Arrow(#[from] ArrowError),
}
