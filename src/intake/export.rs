//! Reads one export from its first byte to its last.

use std::collections::BTreeMap;
use std::io::{self, Read};

use arrow::array::RecordBatch;

use super::error::{IntakeError, SinkError};
use super::map::applied::Map;
use super::map::compile::compile;
use super::map::first::first_rows;
use super::map::header::{Header, read_header};
use super::people::key::PeopleKey;
use super::people::names::{Pass, Suspects};
use super::reject::losses::LostCells;
use super::reject::raw::{RawText, Use};
use super::reject::reason::{Fault, cell_count, row_fault, text_fault};
use super::row::{Refusal, type_row};
use super::side_by_side::side_by_side;
use crate::records::Table;
use crate::settings::{Dialect, Plan, Source};
use crate::tabular::{Cells, Compression, Row, Rows, TableError, TableRows, rows_of};

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
    let failed = |rows: u64, cause| match compression {
        Compression::None => IntakeError::Unreadable { file: export.file.to_owned(), cause },
        packed => damaged(export.file, packed.name(), rows, cause),
    };
    let stream = compression.unpack(bytes).map_err(|cause| failed(0, cause))?;
    let dialect = &export.source.dialect;
    let mut rows = opened_rows(export, stream, &failed)?;
    read_rows(export, dialect, &mut rows, &failed, sink)
}

/// The rows of a stream of text, before any of them.
pub(super) fn opened_rows<'r>(
    export: &Export,
    stream: Box<dyn Read + 'r>,
    failed: &dyn Fn(u64, io::Error) -> IntakeError,
) -> Result<Rows<'r>, IntakeError> {
    rows_of(&export.source.dialect, stream).map_err(|cause| {
        // What was found by us is told in our words, and is not damage.
        match cause.get_ref().is_some_and(|inner| inner.is::<TableError>()) {
            true => IntakeError::Table {
                file: export.file.to_owned(),
                cause: TableError::of_stream("text", cause),
            },
            false => failed(0, cause),
        }
    })
}

/// A file of which only the beginning is what it should be.
pub(super) fn damaged(
    file: &str,
    format: &'static str,
    rows: u64,
    cause: io::Error,
) -> IntakeError {
    let file = file.to_owned();
    // What was found by us is told in our words.
    if cause.get_ref().is_some_and(|inner| inner.is::<TableError>()) {
        let cause = TableError::of_stream(format, cause);
        return IntakeError::Stopped { file, rows, cause };
    }
    IntakeError::Damaged { file, format, rows, cause }
}

/// Reads the rows of an export that is open. `failed` makes an error of the number of rows read
/// until then and what went wrong.
pub(super) fn read_rows<R: TableRows + ?Sized>(
    export: &Export,
    dialect: &Dialect,
    rows: &mut R,
    failed: &dyn Fn(u64, io::Error) -> IntakeError,
    sink: &mut dyn Sink,
) -> Result<ReadCounts, IntakeError> {
    let early = |cause| failed(0, cause);
    let (header, first) = match dialect.header_rows {
        0 => first_rows(rows, export.file, &early)?,
        _ => (read_header(rows, dialect, export.file, &early)?, Vec::new()),
    };
    let Some(header) = header else {
        return Ok(ReadCounts::default());
    };
    let mut reading = Reading::of(export, &header, sink)?;
    for row in &first {
        reading.step(&row.row())?;
    }
    loop {
        let rows_before = reading.counts.rows;
        match rows.next_row().map_err(|cause| failed(rows_before, cause))? {
            Some(row) => reading.step(&row)?,
            None => break,
        }
    }
    reading.flush(true)?;
    reading.counts.suspects = reading.map.watch.finish();
    reading.counts.lost = reading.map.losses.finish();
    Ok(reading.counts)
}

struct Reading<'a, 's> {
    export: &'a Export<'a>,
    map: Map<'a>,
    sink: &'s mut dyn Sink,
    counts: ReadCounts,
    joined: String,
}

impl<'a, 's> Reading<'a, 's> {
    fn of(
        export: &'a Export,
        header: &Header,
        sink: &'s mut dyn Sink,
    ) -> Result<Self, IntakeError> {
        let map = compile(export.plan, export.source, header, export.people, export.pass)?;
        let records = map.targets.iter().map(|target| (target.batch.table, 0)).collect();
        let counts = ReadCounts { records, ..ReadCounts::default() };
        Ok(Self { export, map, sink, counts, joined: String::new() })
    }

    /// Reads one row.
    fn step(&mut self, row: &Row) -> Result<(), IntakeError> {
        match self.take(row) {
            Some(Ok(())) => self.keep(row.line),
            Some(Err(refusal)) => self.reject(row, refusal)?,
            None => return Ok(()),
        }
        self.counts.rows += 1;
        if self.map.watch.is_overfull() {
            return Err(IntakeError::TooManyNames { file: self.export.file.to_owned() });
        }
        // After a rejected row too: its words stay in the dictionaries.
        if self.map.targets.iter().any(|target| target.batch.is_full()) {
            self.flush(false)?;
        }
        Ok(())
    }

    /// Types a row; none if it is blank.
    fn take(&mut self, row: &Row) -> Option<Result<(), Refusal>> {
        let whole_row = |reason| Refusal { table: "", fault: Fault { column: None, reason } };
        if let Some(fault) = row.fault {
            return Some(Err(whole_row(row_fault(fault))));
        }
        let cells = match Cells::of(row) {
            Ok(cells) => cells,
            Err(fault) => {
                return Some(Err(whole_row(text_fault(
                    fault,
                    self.export.source.dialect.encoding,
                ))));
            }
        };
        if cells.are_blank() {
            return None;
        }
        if !self.map.width.fits(&cells) {
            return Some(Err(whole_row(cell_count(cells.count(), self.map.width.most))));
        }
        self.meet_people(&cells);
        let typed = type_row(&mut self.map, &cells, self.counts.rows, &mut self.joined);
        if typed.is_ok() && self.map.watch.only_counts() {
            self.count_texts(&cells);
        }
        Some(typed)
    }

    /// Takes note of what stands in people's cells, of rows that are then rejected too.
    fn meet_people(&mut self, cells: &Cells) {
        for cell in &self.map.people {
            self.map.watch.person(cells.get(*cell));
        }
    }

    fn count_texts(&mut self, cells: &Cells) {
        for (cell, found) in self.map.uses.iter().enumerate() {
            if *found != Use::Unread {
                self.map.watch.count(cells.get(cell), *found == Use::People);
            }
        }
    }

    fn keep(&mut self, line: u64) {
        self.counts.typed += 1;
        self.map.losses.keep(line);
        for target in &mut self.map.targets {
            let new = target.batch.keep();
            if let Some(records) = self.counts.records.get_mut(&target.batch.table) {
                *records += new as u64;
            }
        }
    }

    fn reject(&mut self, row: &Row, refusal: Refusal) -> Result<(), IntakeError> {
        self.map.targets.iter_mut().for_each(|target| target.batch.cut_back());
        self.map.losses.cut_back();
        self.counts.quarantined += 1;
        if self.map.watch.only_counts() {
            return Ok(());
        }
        let dialect = &self.export.source.dialect;
        let raw =
            RawText { uses: &self.map.uses, separator: &dialect.separator, quote: dialect.quote };
        let raw = raw.of(row, &mut self.map.watch);
        let Fault { column, reason } = refusal.fault;
        let rejected = Rejected { line: row.line, table: refusal.table, column, reason, raw };
        self.sink.quarantine(rejected).map_err(|cause| self.refused(cause))
    }

    /// Hands on the batches that are full, or all that hold a record.
    fn flush(&mut self, all: bool) -> Result<(), IntakeError> {
        for at in 0..self.map.targets.len() {
            let batch = &mut self.map.targets[at].batch;
            if batch.is_full() || (all && !batch.is_empty()) {
                let table = batch.table;
                let records = batch.take().map_err(|cause| IntakeError::Batch {
                    file: self.export.file.to_owned(),
                    table: table.name(),
                    cause,
                })?;
                if records.num_rows() > 0 && !self.map.watch.only_counts() {
                    let taken = self.sink.batch(table, records);
                    taken.map_err(|cause| self.refused(cause))?;
                }
            }
        }
        Ok(())
    }

    fn refused(&self, cause: SinkError) -> IntakeError {
        IntakeError::Sink { file: self.export.file.to_owned(), cause }
    }
}
