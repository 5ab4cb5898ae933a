//! Settles sources and tables again: which of their records stand, and what that makes of the rows of their exports.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::complete::{Complete, complete, withdraw};
use super::fates::{Dropped, Fates};
use super::judge::{Candidate, settle};
use super::versions::rank;
use crate::records::Table;
use crate::settings::Plan;
use crate::store::manifest::account::count_rows;
use crate::store::manifest::form::{ExportEntry, Manifest, PartEntry};
use crate::store::manifest::layout::Layout;
use crate::store::open::run::Run;
use crate::store::{RowAccount, StoreError};

/// Source and table.
pub(in crate::store) type Group = (String, Table);

/// What the settings say of a source and table; none for a source that they no longer name.
pub(in crate::store) fn complete_now(
    plan: &Plan,
    (source, table): &Group,
) -> Option<Option<Complete>> {
    let source = plan.sources.iter().find(|named| named.name == *source)?;
    Some(complete(plan, source, *table))
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
