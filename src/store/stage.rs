//! From the files on disk to the next manifest: reads what is new, settles what that touches, counts
//! the rows again. Nothing here changes what the store is; the manifest does.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use rayon::prelude::*;

use crate::records::Table;

use super::account::count_rows;
use super::durable::{rename, sync_folder};
use super::exports::Job;
use super::fates::Fates;
use super::layout::KEPT_FOLDERS;
use super::manifest::{ExportEntry, Manifest, PartEntry};
use super::settle::{Candidate, settle};
use super::take::{Outcome, Taker};
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

/// Reads the jobs; none if all of them are known.
pub(super) fn stage(
    taker: &Taker,
    jobs: &[Job],
    today: NaiveDate,
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
        let mut new = Vec::new();
        // All have ended before the first error in the order of files is told, whoever met it first.
        for outcome in taken {
            if let Outcome::Read(entry) = outcome? {
                new.push(*entry);
            }
        }
        if new.is_empty() { Ok(None) } else { merge(taker, new, today).map(Some) }
    })
}

/// Joins the new exports to the old ones.
fn merge(taker: &Taker, new: Vec<ExportEntry>, today: NaiveDate) -> Result<Staged, StoreError> {
    let count = new.len();
    let of_new = |entry: &ExportEntry| {
        let parts = entry.parts.iter().map(|part| (entry.source.clone(), part.table));
        parts.collect::<Vec<_>>()
    };
    let mut touched: BTreeSet<Group> = new.iter().flat_map(of_new).collect();
    let mut manifest = taker.manifest.clone();
    manifest.first_intake.get_or_insert(today);
    let before = manifest.exports.len();
    manifest.exports.retain(|old| {
        let gone = new.iter().any(|new| replaces(new, old));
        if gone {
            touched.extend(of_new(old));
        }
        !gone
    });
    let replaced = before - manifest.exports.len();
    manifest.exports.extend(new);
    manifest.exports.sort_by(|a, b| a.key().cmp(&b.key()));
    settle_all(taker, &mut manifest, &touched)?;
    account_all(taker, &mut manifest, &touched)?;
    for folder in KEPT_FOLDERS {
        sync_folder(&taker.layout.kept(folder))?;
    }
    Ok(Staged { manifest, new: count, replaced })
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
    duplicate: u64,
    superseded: u64,
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
                part.duplicate = found.duplicate;
                part.superseded = found.superseded;
                part.dropped.clone_from(&found.dropped);
            }
        }
    }
    Ok(())
}

fn settle_group(
    taker: &Taker,
    exports: &[ExportEntry],
    (source, table): &Group,
) -> Result<Vec<Settled>, StoreError> {
    let layout = taker.layout;
    let mut order: Vec<(usize, &ExportEntry, &PartEntry)> = exports
        .iter()
        .enumerate()
        .filter(|(_, export)| export.source == *source)
        .filter_map(|(at, export)| export.part(*table).map(|part| (at, export, part)))
        .collect();
    order.sort_by_key(|(_, export, part)| (part.newest, &export.file, &export.hash));
    let candidates: Vec<Candidate> = order
        .iter()
        .map(|(_, export, part)| Candidate {
            path: layout.part(*table, &export.id()),
            records: part.records,
        })
        .collect();
    let fates = settle(&layout.work(), *table, &candidates)?;
    let parts = order.iter().zip(fates);
    parts.map(|((at, export, _), fates)| keep(taker, *table, (*at, export), &fates)).collect()
}

/// Writes down which records of a part are dropped, if any.
fn keep(
    taker: &Taker,
    table: Table,
    (at, export): (usize, &ExportEntry),
    fates: &Fates,
) -> Result<Settled, StoreError> {
    let (duplicate, superseded) = fates.dropped();
    let mut settled = Settled { export: at, table, duplicate, superseded, dropped: None };
    if duplicate + superseded > 0 {
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
