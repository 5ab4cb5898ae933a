//! From the files on disk to the next manifest: reads what is new, settles what that touches, counts
//! the rows again. Nothing here changes what the store is; the manifest does.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use crate::intake::ROOM_MIB;
use crate::records::Table;
use crate::settings::Plan;

use super::export::{Outcome, Taker};
use super::matched::Job;
use super::unread::Refused;
use crate::store::manifest::account::count_rows;
use crate::store::manifest::form::{ExportEntry, Manifest, PartEntry};
use crate::store::manifest::layout::Layout;
use crate::store::open::run::Run;
use crate::store::settle::complete::{Complete, complete, withdraw};
use crate::store::settle::fates::{Dropped, Fates};
use crate::store::settle::judge::{Candidate, settle};
use crate::store::settle::versions::rank;
use crate::store::{RowAccount, StoreError};

/// The manifest that follows, with how many exports were new and how many took another's place.
pub(in crate::store) struct Staged {
    pub manifest: Manifest,
    pub new: usize,
    pub replaced: usize,
}

/// Source and table.
pub(in crate::store) type Group = (String, Table);

/// Reads the jobs; none if nothing is new. What cannot be read is put to `refused` and the rest goes
/// on, unless the settings are strict.
pub(in crate::store) fn stage(
    taker: &Taker,
    jobs: &[Job],
    refused: &mut Vec<Refused>,
) -> Result<Option<Staged>, StoreError> {
    // Settling a table takes no more than reading an export.
    let most = taker.plan.rules.memory_mib / ROOM_MIB;
    let threads = rayon::current_num_threads().min(most.max(1) as usize);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().map_err(|error| {
        let source = std::io::Error::other(error);
        StoreError::io(taker.layout.root(), "start threads for")(source)
    })?;
    pool.install(|| {
        let taken: Vec<Result<Outcome, StoreError>> =
            jobs.par_iter().enumerate().map(|(number, job)| taker.take(job, number)).collect();
        let mut new = Vec::new();
        // All have ended before the first error in the order of files is reported, whoever met it first.
        for (outcome, job) in taken.into_iter().zip(jobs) {
            match outcome {
                Ok(Outcome::Read(entry)) => new.push(*entry),
                Ok(Outcome::Known) => {}
                Err(error) if error.is_of_export() && !taker.plan.rules.strict => {
                    let (source, file) = (job.source.name.clone(), job.file.clone());
                    refused.push(Refused { source, file, error });
                }
                Err(error) => return Err(error),
            }
        }
        merge(taker, new)
    })
}

/// What must be settled anew although no export is: the settings now say something else of what
/// its exports hold.
fn restated(taker: &Taker) -> BTreeSet<Group> {
    let mut groups = BTreeSet::new();
    for export in &taker.manifest.exports {
        for part in &export.parts {
            let group = (export.source.clone(), part.table);
            if complete_now(taker.plan, &group).is_some_and(|now| now != part.complete) {
                groups.insert(group);
            }
        }
    }
    groups
}

/// What the settings say of a source and table; none for a source that they no longer name.
pub(in crate::store) fn complete_now(
    plan: &Plan,
    (source, table): &Group,
) -> Option<Option<Complete>> {
    let source = plan.sources.iter().find(|named| named.name == *source)?;
    Some(complete(plan, source, *table))
}

/// Joins the new exports to the old ones; none where nothing has changed.
fn merge(taker: &Taker, new: Vec<ExportEntry>) -> Result<Option<Staged>, StoreError> {
    let mut touched = restated(taker);
    touched.extend(new.iter().flat_map(groups_of));
    let mut manifest = taker.manifest.clone();
    let is_known =
        |new: &ExportEntry, old: &ExportEntry| old.key() == new.key() && old.digest == new.digest;
    // Bytes that are back under their name are read again to become its latest version, and are known.
    let unknown = |new: &&ExportEntry| !manifest.exports.iter().any(|old| is_known(new, old));
    let count = new.iter().filter(unknown).count();
    let mut replaced = 0;
    manifest.exports.retain(|old| {
        let Some(successor) = new.iter().find(|new| replaces(new, old)) else { return true };
        replaced += usize::from(!is_known(successor, old));
        touched.extend(groups_of(old));
        false
    });
    let is_same = touched.is_empty() && new.is_empty();
    manifest.exports.extend(new);
    manifest.exports.sort_by(|a, b| a.key().cmp(&b.key()));
    if is_same {
        return Ok(None);
    }
    settle_again(taker.layout, taker.run, taker.plan, &mut manifest, &touched)?;
    Ok(Some(Staged { manifest, new: count, replaced }))
}

/// Source and tables of an export.
pub(in crate::store) fn groups_of(entry: &ExportEntry) -> Vec<Group> {
    entry.parts.iter().map(|part| (entry.source.clone(), part.table)).collect()
}

/// Decides anew which records of these groups stand, and counts the rows of their exports.
pub(in crate::store) fn settle_again(
    layout: &Layout,
    run: &Run,
    plan: &Plan,
    manifest: &mut Manifest,
    touched: &BTreeSet<Group>,
) -> Result<(), StoreError> {
    let settler = Settler { layout, run, plan };
    settle_all(&settler, manifest, touched)?;
    account_all(&settler, manifest, touched)
}

/// What settling needs.
struct Settler<'a> {
    layout: &'a Layout,
    run: &'a Run<'a>,
    plan: &'a Plan,
}

/// Whether an export takes another's place: the same bytes of the same source, read by newer settings
/// under whatever name, or under the same name while the file was changing.
pub(in crate::store) fn replaces(new: &ExportEntry, old: &ExportEntry) -> bool {
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
    settler: &Settler,
    manifest: &mut Manifest,
    touched: &BTreeSet<Group>,
) -> Result<(), StoreError> {
    let groups: Vec<&Group> = touched.iter().collect();
    let settled: Vec<Result<Vec<Settled>, StoreError>> =
        groups.par_iter().map(|group| settle_group(settler, &manifest.exports, group)).collect();
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

/// The parts of a source and table from the earliest to the latest, each with the place of its export.
pub(in crate::store) fn ordered<'e>(
    exports: &'e [ExportEntry],
    source: &str,
    table: Table,
) -> Vec<(usize, &'e ExportEntry, &'e PartEntry)> {
    let of_source = exports.iter().enumerate().filter(|(_, export)| export.source == source);
    let parts = of_source.filter_map(|(at, export)| Some((at, export, export.part(table)?)));
    let all: Vec<(usize, &ExportEntry, &PartEntry)> = parts.collect();
    let mut order = all.clone();
    order.sort_by_cached_key(|entry| rank(entry, &all));
    order
}

/// A part to be settled.
pub(in crate::store) fn candidate(
    layout: &Layout,
    export: &ExportEntry,
    part: &PartEntry,
) -> Candidate {
    let path = layout.found_at(export.part_file(layout, part));
    Candidate { path, sums: part.sums.clone(), records: part.records }
}

fn settle_group(
    settler: &Settler,
    exports: &[ExportEntry],
    group: &Group,
) -> Result<Vec<Settled>, StoreError> {
    let (source, table) = group;
    let layout = settler.layout;
    let order = ordered(exports, source, *table);
    let candidates: Vec<Candidate> =
        order.iter().map(|(_, export, part)| candidate(layout, export, part)).collect();
    let mut fates = settle(&layout.work(), *table, &candidates)?;
    let kept = order.last().and_then(|(_, _, part)| part.complete);
    let complete = complete_now(settler.plan, group).unwrap_or(kept);
    if let Some(span) = complete {
        withdraw(*table, &candidates, span, &mut fates)?;
    }
    let parts = order.iter().zip(fates);
    let settled = parts.map(|((at, export, _), fates)| {
        let settled = keep(settler, *table, (*at, export), &fates)?;
        Ok(Settled { complete, ..settled })
    });
    settled.collect()
}

/// Writes down which records of a part are dropped, if any.
fn keep(
    settler: &Settler,
    table: Table,
    (at, export): (usize, &ExportEntry),
    fates: &Fates,
) -> Result<Settled, StoreError> {
    let dropped = fates.dropped();
    let mut settled = Settled { export: at, table, fates: dropped, complete: None, dropped: None };
    if dropped != Dropped::default() {
        let id = export.id();
        let finished = settler.run.work_file(&format!("{}-{id}.zst", table.name()))?;
        let hash = fates.save(&finished)?;
        settler.run.keep(finished, settler.layout.dropped(table, &id, &hash));
        settled.dropped = Some(hash);
    }
    Ok(settled)
}

fn account_all(
    settler: &Settler,
    manifest: &mut Manifest,
    touched: &BTreeSet<Group>,
) -> Result<(), StoreError> {
    let exports: Vec<usize> = (0..manifest.exports.len())
        .filter(|at| {
            let export = &manifest.exports[*at];
            export.parts.iter().any(|part| touched.contains(&(export.source.clone(), part.table)))
        })
        .collect();
    let rows: BTreeMap<usize, Result<RowAccount, StoreError>> = exports
        .par_iter()
        .map(|at| (*at, account(settler.layout, &manifest.exports[*at])))
        .collect();
    for (at, rows) in rows {
        manifest.exports[at].rows = rows?;
    }
    Ok(())
}

/// Rows of one export. Where every record stands there is nothing to read.
pub(in crate::store) fn account(
    layout: &Layout,
    export: &ExportEntry,
) -> Result<RowAccount, StoreError> {
    if export.parts.iter().any(|part| part.dropped.is_some()) {
        return count_rows(layout, export);
    }
    let RowAccount { read, quarantined, expired, .. } = export.rows;
    let loaded = read.saturating_sub(quarantined).saturating_sub(expired);
    Ok(RowAccount { read, loaded, quarantined, expired, ..RowAccount::default() })
}
