//! Intake of one export into the work folder, and from there to its place.

use crate::intake::{Export, Form, PeopleKey, ReadCounts, read_export, read_file};
use crate::records::{SCHEMA_VERSION, Table};
use crate::settings::{NameScope, Plan};
use crate::tabular::Compression;

use super::durable::{HashedReader, rename};
use super::exports::{Job, open_export, unreadable};
use super::fates::Dropped;
use super::layout::{Layout, export_id};
use super::manifest::{ExportEntry, Manifest, PartEntry};
use super::part::Finished;
use super::sink::{ExportSink, Yield, work_part, work_quarantine};
use super::{Progress, RowAccount, StoreError};

/// What taking one file came to.
pub(super) enum Outcome {
    /// It is in the store as it stands, under this hash.
    Known(String),
    /// It was read; its parts are in place but not yet in the manifest, and nothing is settled.
    Read(Box<ExportEntry>),
}

/// Everything that reading one export needs, the same for all of them.
pub(super) struct Taker<'a> {
    pub layout: &'a Layout,
    pub plan: &'a Plan,
    pub people: &'a PeopleKey,
    pub manifest: &'a Manifest,
    pub progress: &'a dyn Progress,
}

impl Taker<'_> {
    /// Takes one file unless it is known; `number` tells it from the other jobs of this run.
    pub fn take(&self, job: &Job, number: usize) -> Result<Outcome, StoreError> {
        if let Some(hash) = self.known(job)? {
            self.progress.passed(job.length);
            return Ok(Outcome::Known(hash));
        }
        let mut sink = ExportSink::new(self.layout, &job.source.name, &job.file, number);
        let form = Form::of(&job.file);
        let read = if form.is_stream() {
            self.read_stream(job, form.compression, &mut sink)
        } else {
            self.read_file(job, form, &mut sink)
        };
        let (counts, hash) = match read {
            Ok(read) => read,
            Err(error) => {
                let error = sink.take_failure().unwrap_or(error);
                sink.discard();
                return Err(error);
            }
        };
        let yielded = sink.finish(&metadata(job, &hash))?;
        check_counts(&job.file, &counts, &yielded)?;
        self.place(job, number, hash, &counts, yielded).map(|entry| Outcome::Read(Box::new(entry)))
    }

    /// Reads text in one pass. The hash is that of the bytes that were read, so a file that grows
    /// meanwhile is read again.
    fn read_stream(
        &self,
        job: &Job,
        compression: Compression,
        sink: &mut ExportSink,
    ) -> Result<(ReadCounts, String), StoreError> {
        let file = open_export(&job.path).map_err(unreadable(&job.path))?;
        let passed = |bytes| self.progress.passed(bytes);
        let mut reader = HashedReader::new(file, &passed);
        let counts = read_export(&self.export(job), &mut reader, compression, sink);
        let counts = counts.map_err(|error| StoreError::Export(Box::new(error)))?;
        Ok((counts, reader.finish().map_err(unreadable(&job.path))?))
    }

    /// Reads a file that needs more than one pass: what is read must be the same before and after.
    fn read_file(
        &self,
        job: &Job,
        form: Form,
        sink: &mut ExportSink,
    ) -> Result<(ReadCounts, String), StoreError> {
        let hash = || hash_export(job);
        let before = hash()?;
        let counts = read_file(&self.export(job), form, &|| open_export(&job.path), sink);
        let counts = counts.map_err(|error| StoreError::Export(Box::new(error)))?;
        if hash()? != before {
            return Err(StoreError::Changed { file: job.file.clone() });
        }
        self.progress.passed(job.length);
        Ok((counts, before))
    }

    fn export<'j>(&'j self, job: &'j Job) -> Export<'j> {
        Export { plan: self.plan, source: job.source, file: &job.file, people: self.people }
    }

    /// The hash of these bytes if they are in the store under this name, read by these settings. Only
    /// a name that is known costs a pass over the file; a new one is hashed while it is read.
    fn known(&self, job: &Job) -> Result<Option<String>, StoreError> {
        let same = |entry: &&ExportEntry| {
            entry.source == job.source.name && entry.file == job.file && entry.digest == job.digest
        };
        let mut known = self.manifest.exports.iter().filter(same).peekable();
        if known.peek().is_none() {
            return Ok(None);
        }
        let hash = hash_export(job)?;
        Ok(known.any(|entry| entry.hash == hash).then_some(hash))
    }

    /// Gives the finished files their names and describes them.
    fn place(
        &self,
        job: &Job,
        number: usize,
        hash: String,
        counts: &ReadCounts,
        yielded: Yield,
    ) -> Result<ExportEntry, StoreError> {
        let id = export_id(&job.source.name, &job.file, &hash, &job.digest);
        for table in yielded.parts.keys() {
            rename(&work_part(self.layout, number, *table), &self.layout.part(*table, &id))?;
        }
        if yielded.quarantine.is_some() {
            rename(&work_quarantine(self.layout, number), &self.layout.quarantine(&id))?;
        }
        Ok(entry(job, hash, counts, yielded))
    }
}

/// BLAKE3 of an export as hex.
fn hash_export(job: &Job) -> Result<String, StoreError> {
    let hashed = open_export(&job.path).and_then(|file| HashedReader::new(file, &|_| ()).finish());
    hashed.map_err(unreadable(&job.path))
}

/// How the manifest describes an export before anything is settled: all records stand.
fn entry(job: &Job, hash: String, counts: &ReadCounts, yielded: Yield) -> ExportEntry {
    let part = |(table, part): (Table, Finished)| PartEntry {
        table,
        records: part.rows,
        fates: Dropped::default(),
        complete: None,
        newest: part.newest,
        hash: part.hash,
        dropped: None,
    };
    ExportEntry {
        source: job.source.name.clone(),
        file: job.file.clone(),
        hash,
        version: 0,
        digest: job.digest.clone(),
        timezone: job.source.timezone,
        end_face_names: job.source.scope,
        one_name_both_sides: job.source.one_name_both_sides,
        rows: RowAccount {
            read: counts.rows,
            loaded: counts.typed,
            quarantined: counts.quarantined,
            ..RowAccount::default()
        },
        reasons: yielded.reasons,
        quarantine: yielded.quarantine.map(|written| written.hash),
        parts: yielded.parts.into_iter().map(part).collect(),
    }
}

/// What every file of an export says of its origin, so that it can be read without the manifest.
fn metadata(job: &Job, hash: &str) -> [(&'static str, String); 8] {
    let scope = if job.source.scope == NameScope::Site { "site" } else { "fleet" };
    [
        ("schema_version", SCHEMA_VERSION.to_string()),
        ("source", job.source.name.clone()),
        ("file", job.file.clone()),
        ("file_blake3", hash.to_string()),
        ("map_digest", job.digest.clone()),
        ("timezone", job.source.timezone.name().to_string()),
        ("end_face_names", scope.to_string()),
        ("one_name_both_sides", job.source.one_name_both_sides.to_string()),
    ]
}

/// Promise 1, first half: what intake counted is what arrived.
fn check_counts(file: &str, counts: &ReadCounts, yielded: &Yield) -> Result<(), StoreError> {
    let quarantined = yielded.quarantine.as_ref().map_or(0, |written| written.rows);
    let records = yielded.parts.values().map(|part| part.rows).sum::<u64>();
    let checks = [
        ("typed and quarantined", counts.typed + counts.quarantined, counts.rows),
        ("in quarantine", quarantined, counts.quarantined),
        ("records written", records, counts.records.values().sum()),
    ];
    for (what, found, expected) in checks {
        if found != expected {
            return Err(StoreError::Unbalanced { file: file.to_string(), what, found, expected });
        }
    }
    Ok(())
}
