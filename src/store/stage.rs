//! From the files on disk to the next manifest: reads what is new, settles what that touches, counts
//! the rows again. Nothing here changes what the store is; the manifest does.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use rayon::prelude::*;

use crate::records::Table;

use super::account::count_rows;
use super::complete::{Complete, complete, withdraw};
use super::durable::{rename, sync_folder};
use super::exports::Job;
use super::fates::{Dropped, Fates};
use super::layout::KEPT_FOLDERS;
use super::manifest::{ExportEntry, Manifest, PartEntry};
use super::settle::{Candidate, settle};
use super::take::{Outcome, Taker};
use super::unread::Refused;
use super::versions::{OnDisk, rank, renumber};
use super::{RowAccount, StoreError};

/// Memory that reading one export or settling one table may take, MiB: its row groups in progress,
/// intake's buffers, or the buckets.
const MIB_A_THREAD: u32 = 96;

/// The manifest that follows, with how many exports were new and how many took another's place.
pub(super) struct Staged {
    pub manifest: Manifest,
    pub new: usize,
    pub replaced: usize,
}

/// Source and table.
type Group = (String, Table);

/// Reads the jobs; none if nothing is new. What cannot be read is put to `refused` and the rest goes
/// on, unless the settings are strict.
pub(super) fn stage(
    taker: &Taker,
    jobs: &[Job],
    today: NaiveDate,
    refused: &mut Vec<Refused>,
) -> Result<Option<Staged>, StoreError> {
    let most = taker.plan.rules.memory_mib / MIB_A_THREAD;
    let threads = rayon::current_num_threads().min(most.max(1) as usize);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().map_err(|error| {
        let source = std::io::Error::other(error);
        StoreError::io(taker.layout.root(), "start threads for")(source)
    })?;
    pool.install(|| {
        let taken: Vec<Result<Outcome, StoreError>> =
            jobs.par_iter().enumerate().map(|(number, job)| taker.take(job, number)).collect();
        let (mut new, mut on_disk) = (Vec::new(), OnDisk::new());
        // All have ended before the first error in the order of files is told, whoever met it first.
        for (outcome, job) in taken.into_iter().zip(jobs) {
            let hash = match outcome {
                Ok(Outcome::Read(entry)) => {
                    let hash = entry.hash.clone();
                    new.push(*entry);
                    hash
                }
                Ok(Outcome::Known(hash)) => hash,
                Err(error) if error.is_of_export() && !taker.plan.rules.strict => {
                    let (source, file) = (job.source.name.clone(), job.file.clone());
                    refused.push(Refused { source, file, error });
                    continue;
                }
                Err(error) => return Err(error),
            };
            on_disk.insert((job.source.name.clone(), job.file.clone(), hash));
        }
        merge(taker, new, &on_disk, today)
    })
}

/// What must be settled anew although no export is: the settings now say something else of what
/// its exports hold.
fn restated(taker: &Taker) -> BTreeSet<Group> {
    let mut groups = BTreeSet::new();
    for export in &taker.manifest.exports {
        for part in &export.parts {
            let group = (export.source.clone(), part.table);
            if complete_now(taker, &group).is_some_and(|now| now != part.complete) {
                groups.insert(group);
            }
        }
    }
    groups
}

/// What the settings say of a source and table; none for a source that they no longer name.
fn complete_now(taker: &Taker, (source, table): &Group) -> Option<Option<Complete>> {
    let source = taker.plan.sources.iter().find(|named| named.name == *source)?;
    Some(complete(taker.plan, source, *table))
}

/// Joins the new exports to the old ones; none where nothing has changed.
fn merge(
    taker: &Taker,
    new: Vec<ExportEntry>,
    on_disk: &OnDisk,
    today: NaiveDate,
) -> Result<Option<Staged>, StoreError> {
    let count = new.len();
    let groups_of = |entry: &ExportEntry| {
        let parts = entry.parts.iter().map(|part| (entry.source.clone(), part.table));
        parts.collect::<Vec<_>>()
    };
    let mut touched = restated(taker);
    touched.extend(new.iter().flat_map(groups_of));
    let mut manifest = taker.manifest.clone();
    if new.iter().any(|entry| brings_records(entry, &manifest.exports)) {
        manifest.last_intake = Some(today);
    }
    let before = manifest.exports.len();
    manifest.exports.retain(|old| {
        let gone = new.iter().any(|new| replaces(new, old));
        if gone {
            touched.extend(groups_of(old));
        }
        !gone
    });
    let replaced = before - manifest.exports.len();
    manifest.exports.extend(new);
    manifest.exports.sort_by(|a, b| a.key().cmp(&b.key()));
    let renumbered = renumber(&mut manifest.exports, on_disk);
    touched.extend(renumbered.iter().flat_map(|at| groups_of(&manifest.exports[*at])));
    if touched.is_empty() && renumbered.is_empty() && count == 0 {
        return Ok(None);
    }
    settle_all(taker, &mut manifest, &touched)?;
    account_all(taker, &mut manifest, &touched)?;
    for folder in KEPT_FOLDERS {
        sync_folder(&taker.layout.kept(folder))?;
    }
    Ok(Some(Staged { manifest, new: count, replaced }))
}

/// Whether an export has records of bytes that the store had not read. Bytes read once more, by newer
/// settings or under another name, are no news.
fn brings_records(new: &ExportEntry, known: &[ExportEntry]) -> bool {
    let same_bytes = |old: &ExportEntry| old.source == new.source && old.hash == new.hash;
    !new.parts.is_empty() && !known.iter().any(same_bytes)
}

/// Whether an export takes another's place: the same bytes of the same source, read by newer settings
/// under whatever name, or under the same name while the file was changing.
fn replaces(new: &ExportEntry, old: &ExportEntry) -> bool {
    let same_bytes = new.source == old.source && new.hash == old.hash;
    same_bytes && (new.digest != old.digest || new.file == old.file)
}

/// What settling found of one part.
struct Settled {
    /// Place of its export in the manifest.
    export: usize,
    table: Table,
    fates: Dropped,
    complete: Option<Complete>,
    dropped: Option<String>,
}

fn settle_all(
    taker: &Taker,
    manifest: &mut Manifest,
    touched: &BTreeSet<Group>,
) -> Result<(), StoreError> {
    let groups: Vec<&Group> = touched.iter().collect();
    let settled: Vec<Result<Vec<Settled>, StoreError>> =
        groups.par_iter().map(|group| settle_group(taker, &manifest.exports, group)).collect();
    for group in settled {
        for found in group? {
            let parts = &mut manifest.exports[found.export].parts;
            for part in parts.iter_mut().filter(|part| part.table == found.table) {
                part.fates = found.fates;
                part.complete = found.complete;
                part.dropped.clone_from(&found.dropped);
            }
        }
    }
    Ok(())
}

fn settle_group(
    taker: &Taker,
    exports: &[ExportEntry],
    group: &Group,
) -> Result<Vec<Settled>, StoreError> {
    let (source, table) = group;
    let layout = taker.layout;
    let mut order: Vec<(usize, &ExportEntry, &PartEntry)> = exports
        .iter()
        .enumerate()
        .filter(|(_, export)| export.source == *source)
        .filter_map(|(at, export)| export.part(*table).map(|part| (at, export, part)))
        .collect();
    let all = order.clone();
    order.sort_by_cached_key(|entry| rank(entry, &all));
    let candidates: Vec<Candidate> = order
        .iter()
        .map(|(_, export, part)| Candidate {
            path: layout.part(*table, &export.id()),
            records: part.records,
        })
        .collect();
    let mut fates = settle(&layout.work(), *table, &candidates)?;
    let kept = order.last().and_then(|(_, _, part)| part.complete);
    let complete = complete_now(taker, group).unwrap_or(kept);
    if let Some(span) = complete {
        withdraw(*table, &candidates, span, &mut fates)?;
    }
    let parts = order.iter().zip(fates);
    let settled = parts.map(|((at, export, _), fates)| {
        let settled = keep(taker, *table, (*at, export), &fates)?;
        Ok(Settled { complete, ..settled })
    });
    settled.collect()
}

/// Writes down which records of a part are dropped, if any.
fn keep(
    taker: &Taker,
    table: Table,
    (at, export): (usize, &ExportEntry),
    fates: &Fates,
) -> Result<Settled, StoreError> {
    let dropped = fates.dropped();
    let mut settled = Settled { export: at, table, fates: dropped, complete: None, dropped: None };
    if dropped != Dropped::default() {
        let id = export.id();
        let aside = taker.layout.work().join(format!("{}-{id}.zst", table.name()));
        let hash = fates.save(&aside)?;
        rename(&aside, &taker.layout.dropped(table, &id, &hash))?;
        settled.dropped = Some(hash);
    }
    Ok(settled)
}

fn account_all(
    taker: &Taker,
    manifest: &mut Manifest,
    touched: &BTreeSet<Group>,
) -> Result<(), StoreError> {
    let exports: Vec<usize> = (0..manifest.exports.len())
        .filter(|at| {
            let export = &manifest.exports[*at];
            export.parts.iter().any(|part| touched.contains(&(export.source.clone(), part.table)))
        })
        .collect();
    let rows: BTreeMap<usize, Result<RowAccount, StoreError>> =
        exports.par_iter().map(|at| (*at, account(taker, &manifest.exports[*at]))).collect();
    for (at, rows) in rows {
        manifest.exports[at].rows = rows?;
    }
    Ok(())
}

/// Rows of one export. Where every record stands there is nothing to read.
fn account(taker: &Taker, export: &ExportEntry) -> Result<RowAccount, StoreError> {
    if export.parts.iter().any(|part| part.dropped.is_some()) {
        return count_rows(taker.layout, export);
    }
    let RowAccount { read, quarantined, .. } = export.rows;
    let loaded = read.saturating_sub(quarantined);
    Ok(RowAccount { read, loaded, quarantined, ..RowAccount::default() })
}
