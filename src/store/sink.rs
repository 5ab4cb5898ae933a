//! Takes what one export yields and writes it aside: a part a table, and its quarantine.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::fs;
use std::path::PathBuf;

use arrow::array::RecordBatch;

use crate::intake::{Rejected, Sink, SinkError};
use crate::records::Table;

use super::StoreError;
use super::layout::Layout;
use super::manifest::{Example, Reason};
use super::part::{Finished, PartWriter};
use super::quarantine::QuarantineWriter;

/// Most bytes that the row groups in progress of one export hold. Two exports at a time, intake's
/// own buffers and the compressor's stay below 256 MiB with it. A constant, since where a row group ends
/// is part of the bytes and must not depend on the machine.
const MEMORY_OF_PARTS: usize = 48 << 20;

/// The same for its quarantine.
pub(super) const MEMORY_OF_QUARANTINE: usize = 8 << 20;

/// Rows that stand for all those with the same fault.
const EXAMPLES: usize = 3;

/// Most records of a part: their numbers have 32 bits.
pub(super) const MOST_RECORDS: u64 = u32::MAX as u64;

/// Writer of everything that one export yields.
pub(super) struct ExportSink<'a> {
    layout: &'a Layout,
    source: &'a str,
    file: &'a str,
    /// Number of the job, which keeps the half-done files of several threads apart.
    job: usize,
    parts: BTreeMap<Table, PartWriter>,
    quarantine: Option<QuarantineWriter>,
    reasons: BTreeMap<(&'static str, String), (u64, Vec<Example>)>,
    /// The first failure, kept here so that it survives its way through intake as it is.
    failed: Option<StoreError>,
}

/// What one export became, still in the work folder.
pub(super) struct Yield {
    /// By table.
    pub parts: BTreeMap<Table, Finished>,
    pub quarantine: Option<Finished>,
    /// Ordered by table and column.
    pub reasons: Vec<Reason>,
}

/// A half-done part of a job.
pub(super) fn work_part(layout: &Layout, job: usize, table: Table) -> PathBuf {
    layout.work().join(format!("{job}-{}.parquet", table.name()))
}

/// The half-done quarantine of a job.
pub(super) fn work_quarantine(layout: &Layout, job: usize) -> PathBuf {
    layout.work().join(format!("{job}-quarantine.parquet"))
}

impl<'a> ExportSink<'a> {
    pub fn new(layout: &'a Layout, source: &'a str, file: &'a str, job: usize) -> Self {
        Self {
            layout,
            source,
            file,
            job,
            parts: BTreeMap::new(),
            quarantine: None,
            reasons: BTreeMap::new(),
            failed: None,
        }
    }

    /// The store's own failure, if that is what made intake stop.
    pub fn take_failure(&mut self) -> Option<StoreError> {
        self.failed.take()
    }

    /// Closes all files, each with this metadata.
    pub fn finish(self, metadata: &[(&str, String)]) -> Result<Yield, StoreError> {
        let mut parts = BTreeMap::new();
        for (table, writer) in self.parts {
            parts.insert(table, writer.finish(metadata)?);
        }
        let quarantine = self.quarantine.map(|writer| writer.finish(metadata)).transpose()?;
        let reasons = self.reasons.into_iter().map(|((table, column), (rows, examples))| Reason {
            table: table.to_string(),
            column,
            rows,
            examples,
        });
        Ok(Yield { parts, quarantine, reasons: reasons.collect() })
    }

    /// Takes back all that was written, since the export as a whole cannot be read. What cannot be
    /// removed now is in the work folder and goes with it.
    pub fn discard(self) {
        let Self { layout, job, parts, quarantine, .. } = self;
        let tables: Vec<Table> = parts.keys().copied().collect();
        drop((parts, quarantine));
        for table in tables {
            let _ = fs::remove_file(work_part(layout, job, table));
        }
        let _ = fs::remove_file(work_quarantine(layout, job));
    }

    fn write(&mut self, table: Table, batch: &RecordBatch) -> Result<(), StoreError> {
        if batch.num_rows() == 0 {
            return Ok(());
        }
        let writer = match self.parts.entry(table) {
            Entry::Occupied(writer) => writer.into_mut(),
            Entry::Vacant(none) => {
                none.insert(PartWriter::table(&work_part(self.layout, self.job, table), table)?)
            }
        };
        writer.push(batch)?;
        if writer.rows() > MOST_RECORDS {
            return Err(StoreError::TooLong { file: self.file.into(), table: table.name() });
        }
        self.bound_memory()
    }

    /// Ends the largest row group in progress while all of them hold too much.
    fn bound_memory(&mut self) -> Result<(), StoreError> {
        while self.parts.values().map(PartWriter::memory).sum::<usize>() > MEMORY_OF_PARTS {
            // The first of equals, whichever the thread: the map is ordered.
            let largest = self.parts.values_mut().rev().max_by_key(|part| part.memory());
            match largest {
                Some(part) => part.flush()?,
                None => break,
            }
        }
        Ok(())
    }

    fn reject(&mut self, rejected: Rejected) -> Result<(), StoreError> {
        let column = rejected.column.clone().unwrap_or_default();
        let (rows, examples) = self.reasons.entry((rejected.table, column)).or_default();
        *rows += 1;
        if examples.len() < EXAMPLES {
            let Rejected { line, reason, raw, .. } = rejected.clone();
            examples.push(Example { line, reason, raw });
        }
        let mut writer = match self.quarantine.take() {
            Some(writer) => writer,
            None => QuarantineWriter::start(
                &work_quarantine(self.layout, self.job),
                self.source,
                self.file,
            )?,
        };
        let pushed = writer.push(rejected);
        self.quarantine = Some(writer);
        pushed
    }

    fn keep(&mut self, done: Result<(), StoreError>) -> Result<(), SinkError> {
        done.map_err(|error| {
            let told = SinkError::new(error.to_string());
            self.failed.get_or_insert(error);
            told
        })
    }
}

impl Sink for ExportSink<'_> {
    fn batch(&mut self, table: Table, batch: RecordBatch) -> Result<(), SinkError> {
        let done = self.write(table, &batch);
        self.keep(done)
    }

    fn quarantine(&mut self, rejected: Rejected) -> Result<(), SinkError> {
        let done = self.reject(rejected);
        self.keep(done)
    }
}
