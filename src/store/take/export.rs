//! Intake of one export into the work folder, and from there to its place.

use chrono::NaiveDate;

use super::matched::{Job, open_export, unreadable};
use super::sink::{ExportSink, Yield, work_part, work_quarantine};
use crate::intake::{
    Export, Form, Pass, PeopleKey, ReadCounts, read_export, read_file, read_knowing_names,
};
use crate::records::Table;
use crate::settings::Plan;
use crate::store::disk::durable::HashedReader;
use crate::store::disk::part::Finished;
use crate::store::manifest::form::{ExportEntry, Manifest, PartEntry};
use crate::store::manifest::layout::Layout;
use crate::store::manifest::origin::{Origin, OriginPart};
use crate::store::open::run::Run;
use crate::store::progress::Progress;
use crate::store::settle::complete::complete;
use crate::store::settle::fates::Dropped;
use crate::store::settle::versions::version_of;
use crate::store::{RowAccount, StoreError};
use crate::tabular::Compression;

/// What taking one file came to.
pub(in crate::store) enum Outcome {
    /// It is in the store as it stands.
    Known,
    /// It was read; its parts are finished but not yet in place, and nothing is settled.
    Read(Box<ExportEntry>),
}

/// Everything that reading one export needs, the same for all of them.
pub(in crate::store) struct Taker<'a> {
    pub layout: &'a Layout,
    pub run: &'a Run<'a>,
    pub plan: &'a Plan,
    pub people: &'a PeopleKey,
    pub manifest: &'a Manifest,
    /// Day (UTC) of the intake.
    pub today: NaiveDate,
    pub progress: &'a dyn Progress,
}

impl Taker<'_> {
    /// Takes one file unless it is known; `number` tells it from the other jobs of this run.
    pub fn take(&self, job: &Job, number: usize) -> Result<Outcome, StoreError> {
        if self.is_known(job)? {
            self.progress.passed(job.length);
            return Ok(Outcome::Known);
        }
        let (counts, hash, mut sink) = self.read(job, number)?;
        let origin = self.origin(job, hash, &counts, sink.yielded()?);
        let yielded = sink.finish(&origin.metadata())?;
        check_counts(&job.file, &counts, &yielded)?;
        let entry = entry(origin, &counts, yielded);
        self.place(number, &entry)?;
        Ok(Outcome::Read(Box::new(entry)))
    }

    /// Reads the file, again where names of people may stand in cells that are not theirs. What an
    /// earlier reading handed to its sink is then written over.
    fn read<'j>(
        &'j self,
        job: &'j Job,
        number: usize,
    ) -> Result<(ReadCounts, String, ExportSink<'j>), StoreError> {
        let form = Form::of(&job.file);
        let mut first: Option<String> = None;
        let mut kept = None;
        let read = |pass: Pass| {
            let counts_only = matches!(pass, Pass::Tally(_));
            if !counts_only {
                // Closed before its files are written over: a writer may still hold bytes back.
                kept = None;
            }
            let mut sink =
                ExportSink::new(self.run, (&job.source.name, &job.file), number, self.progress);
            let again = first.is_some();
            let read = if form.is_stream() {
                self.read_stream(job, form.compression, (pass, again), &mut sink)
            } else {
                self.read_file(job, form, (pass, again), &mut sink)
            };
            let (counts, hash) = match read {
                Ok(read) => read,
                Err(error) => {
                    let error = sink.take_failure().unwrap_or(error);
                    sink.discard();
                    return Err(error);
                }
            };
            if first.get_or_insert_with(|| hash.clone()) != &hash {
                return Err(StoreError::Changed { file: job.file.clone() });
            }
            if !counts_only {
                kept = Some((hash, sink));
            }
            Ok(counts)
        };
        let counts = read_knowing_names(read, |counts| &counts.suspects)?;
        let (hash, sink) = kept.expect("a first reading hands rows to its sink");
        Ok((counts, hash, sink))
    }

    /// Reads text in one pass. The hash is that of the bytes that were read, so a file that grows
    /// meanwhile is read again.
    fn read_stream(
        &self,
        job: &Job,
        compression: Compression,
        (pass, again): (Pass, bool),
        sink: &mut ExportSink,
    ) -> Result<(ReadCounts, String), StoreError> {
        let file = open_export(&job.path).map_err(unreadable(&job.path))?;
        let passed = |bytes| {
            if !again {
                self.progress.passed(bytes);
            }
        };
        let mut reader = HashedReader::new(file, &passed);
        let counts = read_export(&self.export(job, pass), &mut reader, compression, sink);
        let counts = counts.map_err(|error| StoreError::Export(Box::new(error)))?;
        Ok((counts, reader.finish().map_err(unreadable(&job.path))?))
    }

    /// Reads a file that needs more than one pass: what is read must be the same before and after.
    fn read_file(
        &self,
        job: &Job,
        form: Form,
        (pass, again): (Pass, bool),
        sink: &mut ExportSink,
    ) -> Result<(ReadCounts, String), StoreError> {
        let hash = || hash_export(job);
        let before = hash()?;
        let counts = read_file(&self.export(job, pass), form, &|| open_export(&job.path), sink);
        let counts = counts.map_err(|error| StoreError::Export(Box::new(error)))?;
        if hash()? != before {
            return Err(StoreError::Changed { file: job.file.clone() });
        }
        if !again {
            self.progress.passed(job.length);
        }
        Ok((counts, before))
    }

    pub(super) fn export<'j>(&'j self, job: &'j Job, pass: Pass<'j>) -> Export<'j> {
        let (plan, people) = (self.plan, self.people);
        Export { plan, source: job.source, file: &job.file, people, pass }
    }

    /// Whether these bytes are in the store under this name, read by these settings, and no other version
    /// of the name came later. Only a name that is known costs a pass over the file; a new
    /// one is hashed while it is read.
    fn is_known(&self, job: &Job) -> Result<bool, StoreError> {
        let same = |entry: &&ExportEntry| {
            entry.source == job.source.name && entry.file == job.file && entry.digest == job.digest
        };
        let mut known = self.manifest.exports.iter().filter(same).peekable();
        if known.peek().is_none() {
            return Ok(false);
        }
        let hash = hash_export(job)?;
        let version = version_of(self.manifest, &job.source.name, &job.file, &hash);
        let is_latest = |entry: &ExportEntry| entry.hash == hash && entry.version >= version;
        Ok(known.any(is_latest))
    }

    /// What the files of an export say of it.
    pub(super) fn origin(
        &self,
        job: &Job,
        hash: String,
        counts: &ReadCounts,
        (parts, has_quarantine): (Vec<OriginPart>, bool),
    ) -> Origin {
        let same_bytes = |old: &&ExportEntry| old.source == job.source.name && old.hash == hash;
        let taken_before = self.manifest.exports.iter().find(same_bytes).and_then(|old| old.taken);
        let stated = |part: OriginPart| OriginPart {
            complete: complete(self.plan, job.source, part.table),
            ..part
        };
        Origin {
            source: job.source.name.clone(),
            file: job.file.clone(),
            version: version_of(self.manifest, &job.source.name, &job.file, &hash),
            hash,
            digest: job.digest.clone(),
            timezone: job.source.timezone,
            end_face_names: job.source.scope,
            one_name_both_sides: job.source.one_name_both_sides,
            taken: Some(taken_before.unwrap_or(self.today)),
            edition: 0,
            read: counts.rows,
            quarantined: counts.quarantined,
            expired_rows: 0,
            expired: Vec::new(),
            lost: counts.lost.clone(),
            has_quarantine,
            parts: parts.into_iter().map(stated).collect(),
        }
    }

    /// Keeps the finished files for their places.
    fn place(&self, number: usize, entry: &ExportEntry) -> Result<(), StoreError> {
        for part in &entry.parts {
            let finished = work_part(self.run, number, part.table)?;
            self.run.keep(finished, entry.part_file(self.layout, part));
        }
        if let Some((place, _)) = entry.quarantine_file(self.layout) {
            self.run.keep(work_quarantine(self.run, number)?, place);
        }
        Ok(())
    }
}

/// BLAKE3 of an export as hex.
fn hash_export(job: &Job) -> Result<String, StoreError> {
    let hashed = open_export(&job.path).and_then(|file| HashedReader::new(file, &|_| ()).finish());
    hashed.map_err(unreadable(&job.path))
}

/// How the manifest describes an export before anything is settled: all records stand.
pub(super) fn entry(origin: Origin, counts: &ReadCounts, yielded: Yield) -> ExportEntry {
    let part = |(table, part): (Table, Finished)| PartEntry {
        table,
        records: part.rows,
        fates: Dropped::default(),
        complete: None,
        newest: part.newest,
        hash: part.hash,
        sums: part.sums,
        dropped: None,
    };
    ExportEntry {
        source: origin.source,
        file: origin.file,
        hash: origin.hash,
        version: origin.version,
        digest: origin.digest,
        timezone: origin.timezone,
        end_face_names: origin.end_face_names,
        one_name_both_sides: origin.one_name_both_sides,
        taken: origin.taken,
        edition: origin.edition,
        plain_names: false,
        rows: RowAccount {
            read: counts.rows,
            loaded: counts.typed,
            quarantined: counts.quarantined,
            ..RowAccount::default()
        },
        expired: Vec::new(),
        lost: origin.lost,
        reasons: yielded.reasons,
        quarantine: yielded.quarantine.map(|written| written.hash),
        parts: yielded.parts.into_iter().map(part).collect(),
    }
}

/// Promise 1, first half: what intake counted is what arrived.
pub(super) fn check_counts(
    file: &str,
    counts: &ReadCounts,
    yielded: &Yield,
) -> Result<(), StoreError> {
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
