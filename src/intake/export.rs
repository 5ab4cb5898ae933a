//! What is read, who receives what it yields, and what it came to.

use std::collections::BTreeMap;

use arrow::array::RecordBatch;

use super::error::SinkError;
use super::people::key::PeopleKey;
use super::people::names::{Pass, Suspects};
use super::reject::losses::LostCells;
use crate::records::Table;
use crate::settings::{Plan, Source};

/// Receives what one export yields, in order of arrival.
pub trait Sink {
    /// Takes records of one table; the batch has [`crate::records::schema`] of that table.
    ///
    /// # Errors
    /// Stops the reading.
    fn batch(&mut self, table: Table, batch: RecordBatch) -> Result<(), SinkError>;

    /// Takes a row that could not be typed: each once, with its first fault.
    ///
    /// # Errors
    /// Stops the reading.
    fn quarantine(&mut self, rejected: Rejected) -> Result<(), SinkError>;

    /// Hears how far the reading is: the line of a row, some thousands of rows apart; of the very row where the
    /// program has a fault.
    fn reached(&mut self, _line: u64) {}
}

/// A row that could not be typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rejected {
    /// Line of the file where it begins, from 1.
    pub line: u64,
    /// Table of the map's part at fault; empty where no part took the row or it was not cut.
    pub table: &'static str,
    /// The export's column (several joined by ` + `), or the canonical one if none fills it.
    pub column: Option<String>,
    /// What was found, what was expected, what to do.
    pub reason: String,
    /// The cells that the map reads, `..` in place of others and `***` of people's, at most 500
    /// characters.
    pub raw: String,
}

/// One file of a source.
#[derive(Clone, Copy, Debug)]
pub struct Export<'a> {
    /// Code lists, stages and sites.
    pub plan: &'a Plan,
    /// Dialect, zone and map.
    pub source: &'a Source,
    /// Its name in messages.
    pub file: &'a str,
    /// Key of the pseudonyms.
    pub people: &'a PeopleKey,
    /// What this reading is for.
    pub pass: Pass<'a>,
}

/// What was read. `rows` is `typed` plus `quarantined`, always.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadCounts {
    /// Data rows: rows with any text behind the header.
    pub rows: u64,
    /// Rows of which every record stands.
    pub typed: u64,
    /// Rows handed to the quarantine.
    pub quarantined: u64,
    /// Records of the typed rows.
    pub records: BTreeMap<Table, u64>,
    /// Cells of typed rows that could not be read and were left out, ordered by table, column and reason.
    pub lost: Vec<LostCells>,
    /// What the reading found out of names in cells that are not people's.
    pub suspects: Suspects,
}

/// How far the reading of an export is.
#[derive(Clone, Copy, Debug)]
pub(super) struct At {
    /// Line where the next row begins, from 1.
    pub(super) line: u64,
    /// Data rows read.
    pub(super) rows: u64,
}

impl At {
    /// Before anything was read.
    pub(super) const START: At = At { line: 1, rows: 0 };
}
