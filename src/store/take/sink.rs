//! Takes what one export yields and writes it aside: a part a table, and its quarantine.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::fs;
use std::path::PathBuf;

use arrow::array::RecordBatch;

use super::quarantine::{QuarantineWriter, Reasons};
use crate::intake::{Rejected, Sink, SinkError};
use crate::records::Table;
use crate::store::StoreError;
use crate::store::disk::part::{Finished, PartWriter};
use crate::store::manifest::form::{Example, MOST_RECORDS};
use crate::store::manifest::origin::OriginPart;
use crate::store::open::run::Run;
use crate::store::progress::Progress;

/// Most bytes that the row groups in progress of one export hold. Two exports at a time, intake's
/// own buffers and the compressor's stay below 256 MiB with it. A constant, since where a row group ends
/// is part of the bytes and must not depend on the machine.
pub(in crate::store) const MEMORY_OF_PARTS: usize = 48 << 20;

/// Writer of everything that one export yields.
pub(in crate::store) struct ExportSink<'a> {
    run: &'a Run<'a>,
    source: &'a str,
    file: &'a str,
    /// Number of the job, which keeps the half-done files of several threads apart.
    job: usize,
    progress: &'a dyn Progress,
    parts: BTreeMap<Table, PartWriter>,
    quarantine: Option<QuarantineWriter>,
    reasons: Reasons,
    /// The first failure, kept here so that it survives its way through intake as it is.
    failed: Option<StoreError>,
}

/// What one export became, still in the work folder.
pub(in crate::store) struct Yield {
    /// By table.
    pub parts: BTreeMap<Table, Finished>,
    pub quarantine: Option<Finished>,
    /// Ordered by table and column.
    pub reasons: Vec<crate::store::Reason>,
}

/// A half-done part of a job.
pub(in crate::store) fn work_part(
    run: &Run,
    job: usize,
    table: Table,
) -> Result<PathBuf, StoreError> {
    run.work_file(&format!("{job}-{}.parquet", table.name()))
}

/// The half-done quarantine of a job.
pub(in crate::store) fn work_quarantine(run: &Run, job: usize) -> Result<PathBuf, StoreError> {
    run.work_file(&format!("{job}-quarantine.parquet"))
}

impl<'a> ExportSink<'a> {
    pub fn new(
        run: &'a Run<'a>,
        (source, file): (&'a str, &'a str),
        job: usize,
        progress: &'a dyn Progress,
    ) -> Self {
        Self {
            run,
            source,
            file,
            job,
            progress,
            parts: BTreeMap::new(),
            quarantine: None,
            reasons: Reasons::default(),
            failed: None,
        }
    }

    /// The store's own failure, if that is what made intake stop.
    pub fn take_failure(&mut self) -> Option<StoreError> {
        self.failed.take()
    }

    /// What came of the export so far: its parts, and whether it has a quarantine. One that yields
    /// nothing gets an empty quarantine, so that some file of the store tells of every export.
    pub fn yielded(&mut self) -> Result<(Vec<OriginPart>, bool), StoreError> {
        let has_quarantine = self.has_quarantine(self.parts.is_empty())?;
        let part = |(table, writer): (&Table, &PartWriter)| OriginPart {
            table: *table,
            records: writer.rows(),
            newest: writer.newest(),
            complete: None,
        };
        Ok((self.parts.iter().map(part).collect(), has_quarantine))
    }

    /// Whether there is a quarantine: where nothing else is there is one.
    pub fn has_quarantine(&mut self, nothing_else: bool) -> Result<bool, StoreError> {
        if nothing_else && self.quarantine.is_none() {
            let path = work_quarantine(self.run, self.job)?;
            self.quarantine = Some(QuarantineWriter::start(&path, self.source, self.file)?);
        }
        Ok(self.quarantine.is_some())
    }

    /// Closes all files, each with this metadata.
    pub fn finish(self, metadata: &[(&str, String)]) -> Result<Yield, StoreError> {
        let mut parts = BTreeMap::new();
        for (table, writer) in self.parts {
            parts.insert(table, writer.finish(metadata)?);
        }
        let quarantine = self.quarantine.map(|writer| writer.finish(metadata)).transpose()?;
        Ok(Yield { parts, quarantine, reasons: self.reasons.finish() })
    }

    /// Takes back all that was written, since the export as a whole cannot be read. What cannot be
    /// removed now is in the work folder and goes with it.
    pub fn discard(self) {
        let Self { run, job, parts, quarantine, .. } = self;
        let mut paths: Vec<_> = parts.keys().map(|table| work_part(run, job, *table)).collect();
        paths.extend(quarantine.as_ref().map(|_| work_quarantine(run, job)));
        drop((parts, quarantine));
        for path in paths.into_iter().flatten() {
            let _ = fs::remove_file(path);
        }
    }

    fn write(&mut self, table: Table, batch: &RecordBatch) -> Result<(), StoreError> {
        if batch.num_rows() == 0 {
            return Ok(());
        }
        let writer = match self.parts.entry(table) {
            Entry::Occupied(writer) => writer.into_mut(),
            Entry::Vacant(none) => {
                let path = work_part(self.run, self.job, table)?;
                none.insert(PartWriter::table(&path, table, batch)?)
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
        self.reasons.add(rejected.table, column, || {
            let Rejected { line, reason, raw, .. } = rejected.clone();
            Example { line, reason, raw }
        });
        let mut writer = match self.quarantine.take() {
            Some(writer) => writer,
            None => QuarantineWriter::start(
                &work_quarantine(self.run, self.job)?,
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

    fn reached(&mut self, line: u64) {
        self.progress.reached(self.file, line);
    }
}
