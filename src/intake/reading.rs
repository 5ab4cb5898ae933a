//! Rows of one export, typed one after the other: each becomes all of its records, or is rejected once.

use std::io;

use super::error::{IntakeError, SinkError};
use super::export::{At, Export, ReadCounts, Rejected, Sink};
use super::map::applied::Map;
use super::map::compile::compile;
use super::map::first::first_rows;
use super::map::header::{Header, read_header};
use super::people::names::Met;
use super::reject::raw::{RawText, Use};
use super::reject::reason::{Fault, cell_count, row_fault, text_fault};
use super::row::{Refusal, type_row};
use crate::settings::Dialect;
use crate::tabular::{Cells, Row, Rows, TableRows};

/// Rows after which it is told how far the reading is.
const TOLD_EVERY: u64 = 4096;

/// Reads the rows of an export that is open. `failed` makes an error of how far it was read and what went wrong.
pub fn read_rows<R: TableRows + ?Sized>(
    export: &Export,
    dialect: &Dialect,
    rows: &mut R,
    failed: &dyn Fn(At, io::Error) -> IntakeError,
    sink: &mut dyn Sink,
) -> Result<ReadCounts, IntakeError> {
    let early = |cause| failed(At::START, cause);
    let (header, first) = match dialect.header_rows {
        0 => first_rows(rows, export.file, &early)?,
        _ => (read_header(rows, dialect, export.file, &early)?, Vec::new()),
    };
    let Some(header) = header else {
        return Ok(ReadCounts::default());
    };
    let mut reading = Reading::of(export, &header, 0, sink)?;
    for row in &first {
        reading.step(&row.row())?;
    }
    reading.read_on(rows, failed)?;
    reading.counts.suspects = reading.map.watch.finish();
    Ok(std::mem::take(&mut reading.counts))
}

/// The same of a range of an export, which has `before` data rows before it; the header stands at its beginning, and the
/// rows behind that go on at `line`. Also gives what it found out of names.
pub fn read_rows_of_range(
    export: &Export,
    rows: &mut Rows,
    (line, before): (u64, u64),
    failed: &dyn Fn(At, io::Error) -> IntakeError,
    sink: &mut dyn Sink,
) -> Result<(ReadCounts, Met), IntakeError> {
    let early = |cause| failed(At::START, cause);
    let Some(header) = read_header(rows, &export.source.dialect, export.file, &early)? else {
        return Ok(<(ReadCounts, Met)>::default());
    };
    rows.go_on_at(line);
    let mut reading = Reading::of(export, &header, before, sink)?;
    reading.read_on(rows, failed)?;
    let met = reading.map.watch.met();
    Ok((std::mem::take(&mut reading.counts), met))
}

/// Whether a row is one that is counted: any that is not blank.
pub fn is_data(row: &Row) -> bool {
    row.fault.is_some() || Cells::of(row).map_or(true, |cells| !cells.are_blank())
}

struct Reading<'a, 's> {
    export: &'a Export<'a>,
    map: Map<'a>,
    sink: &'s mut dyn Sink,
    counts: ReadCounts,
    /// Data rows of the export before those that are read.
    before: u64,
    /// Line of the row that is read, from 1.
    line: u64,
    joined: String,
}

impl<'a, 's> Reading<'a, 's> {
    fn of(
        export: &'a Export,
        header: &Header,
        before: u64,
        sink: &'s mut dyn Sink,
    ) -> Result<Self, IntakeError> {
        let map = compile(export.plan, export.source, header, export.people, export.pass)?;
        let records = map.targets.iter().map(|target| (target.batch.table, 0)).collect();
        let counts = ReadCounts { records, ..ReadCounts::default() };
        Ok(Self { export, map, sink, counts, before, line: header.line, joined: String::new() })
    }

    /// Reads what is left of the rows, and hands all on.
    fn read_on<R: TableRows + ?Sized>(
        &mut self,
        rows: &mut R,
        failed: &dyn Fn(At, io::Error) -> IntakeError,
    ) -> Result<(), IntakeError> {
        loop {
            let at = At { line: rows.line(), rows: self.counts.rows };
            match rows.next_row().map_err(|cause| failed(at, cause))? {
                Some(row) => self.step(&row)?,
                None => break,
            }
        }
        self.flush(true)?;
        self.sink.reached(self.line);
        self.counts.lost = self.map.losses.finish();
        Ok(())
    }

    /// Reads one row.
    fn step(&mut self, row: &Row) -> Result<(), IntakeError> {
        self.line = row.line;
        match self.take(row) {
            Some(Ok(())) => self.keep(row.line),
            Some(Err(refusal)) => self.reject(row, refusal)?,
            None => return Ok(()),
        }
        self.counts.rows += 1;
        if self.counts.rows % TOLD_EVERY == 1 {
            self.sink.reached(self.line);
        }
        if self.map.watch.is_overfull() {
            return Err(IntakeError::TooManyNames {
                file: self.export.file.to_owned(),
                line: self.line,
            });
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
        let ordinal = self.before + self.counts.rows;
        let typed = type_row(&mut self.map, &cells, ordinal, &mut self.joined);
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

impl Drop for Reading<'_, '_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.sink.reached(self.line);
        }
    }
}
