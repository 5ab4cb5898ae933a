//! Settling in shares, for workers that hold some of the parts each: claims of parts, verdicts over the claims of an
//! identity, fates of an export. The rules are those of `settle`; here is only who holds what.

use std::fs;
use std::path::Path;

use bytemuck::{Pod, Zeroable};

use super::Store;
use crate::records::Table;
use crate::settings::Plan;
use crate::store::StoreError;
use crate::store::disk::durable::make_folder;
use crate::store::disk::spill::{Buckets, Spill};
use crate::store::manifest::form::{ExportEntry, Manifest};
use crate::store::manifest::layout::Layout;
use crate::store::settle::again::{Group, account, candidate, complete_now, groups_of, ordered};
use crate::store::settle::complete::withdraw_of;
use crate::store::settle::fates::{Dropped, Fate, Fates};
use crate::store::settle::judge::{Claim, claims_of, judge};

/// Buckets of claims over all sources and tables.
const BUCKETS: usize = 1 << 14;
/// Most buckets of claims of one source and table.
const MOST_OF_GROUP: usize = 1 << 10;

/// A record as settling sees it, on its way between workers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Pod, Zeroable)]
#[repr(transparent)]
pub struct SharedClaim(Claim);

/// What becomes of a record that does not stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Pod, Zeroable)]
#[repr(C)]
pub struct Verdict {
    /// Place of its table among all.
    table: u32,
    /// Number of the record in its part.
    record: u32,
    /// Of the fates.
    fate: u32,
}

/// Sources and tables in their order.
fn groups(manifest: &Manifest) -> Vec<Group> {
    let mut groups: Vec<Group> = manifest.exports.iter().flat_map(groups_of).collect();
    groups.sort();
    groups.dedup();
    groups
}

/// Buckets of claims of each of so many sources and tables.
fn of_group(groups: usize) -> usize {
    (BUCKETS / groups.max(1)).clamp(1, MOST_OF_GROUP)
}

impl Store {
    /// The exports of the store as JSON, as they are before anything is settled.
    ///
    /// # Errors
    /// An entry that has no JSON: a fault of the program.
    pub fn entries(&self) -> Result<Vec<Vec<u8>>, StoreError> {
        let unsettled = |export: &ExportEntry| {
            let mut export = export.clone();
            for part in &mut export.parts {
                (part.fates, part.complete, part.dropped) = (Dropped::default(), None, None);
            }
            export.rows = account(&self.layout, &export)?;
            json(&export)
        };
        self.manifest.exports.iter().map(unsettled).collect()
    }

    /// Writes the manifest of exports that workers typed, or settled, into the plan's store. Of two entries of an export
    /// the later one stands.
    ///
    /// # Errors
    /// Entries that are none or do not go together, a full disk.
    pub fn write_ledger(plan: &Plan, entries: &[Vec<u8>]) -> Result<(), StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        let damaged = |why: String| StoreError::damaged(&layout.manifest(), why);
        let read = |bytes: &Vec<u8>| {
            serde_json::from_slice(bytes).map_err(|error| damaged(error.to_string()))
        };
        let mut exports = entries.iter().map(read).collect::<Result<Vec<ExportEntry>, _>>()?;
        exports.reverse();
        exports.sort_by(|a, b| a.key().cmp(&b.key()));
        exports.dedup_by(|a, b| a.key() == b.key());
        let manifest = Manifest { exports, ..Manifest::empty() };
        manifest.check().map_err(damaged)?;
        let text = manifest.sealed(&layout)?.text;
        make_folder(layout.root())?;
        fs::write(layout.manifest(), text).map_err(StoreError::io(&layout.manifest(), "write"))
    }

    /// The claims of the parts at hand, in the bucket of their source, table and identity.
    ///
    /// # Errors
    /// Damage in a part, a full disk.
    pub fn claims(&self, work: &Path) -> Result<Buckets<SharedClaim>, StoreError> {
        let (manifest, layout) = (&self.manifest, &self.layout);
        let groups = groups(manifest);
        let own = of_group(groups.len());
        let mut spill = Spill::new(work, own * groups.len())?;
        for (number, (source, table)) in groups.iter().enumerate() {
            for (rank, (_, export, part)) in (0..).zip(ordered(&manifest.exports, source, *table)) {
                let part = candidate(layout, export, part);
                if part.path.exists() {
                    let put = |claim: &Claim| {
                        let bucket = number * own + claim.identity[0] as usize % own;
                        spill.push(bucket, &SharedClaim(*claim))
                    };
                    claims_of(*table, (rank, &part), put)
                        .map_err(|error| error.of_export(&export.source, &export.file))?;
                }
            }
        }
        spill.finish()
    }

    /// Judges the claims of whole buckets; verdicts are in the bucket of their export's place in the manifest.
    ///
    /// # Errors
    /// A full disk.
    pub fn verdicts(
        &self,
        work: &Path,
        claims: &Buckets<SharedClaim>,
    ) -> Result<Buckets<Verdict>, StoreError> {
        let manifest = &self.manifest;
        let groups = groups(manifest);
        let own = of_group(groups.len());
        let mut spill = Spill::new(work, manifest.exports.len())?;
        for (number, (source, table)) in groups.iter().enumerate() {
            let order = ordered(&manifest.exports, source, *table);
            let at = Table::ALL.iter().position(|known| known == table).unwrap_or(0) as u32;
            for bucket in number * own..(number + 1) * own {
                let mut claims = claims.read(bucket)?;
                // Chunks come in any order, and the judge goes by that of exports and records.
                claims.sort_unstable_by_key(|SharedClaim(claim)| (claim.export, claim.record));
                let mut failure = None;
                judge(bytemuck::cast_slice(&claims), |claim, fate| {
                    let Some((export, ..)) = order.get(claim.export as usize) else { return };
                    let verdict = Verdict { table: at, record: claim.record, fate: fate as u32 };
                    if let Err(error) = spill.push(*export, &verdict) {
                        failure.get_or_insert(error);
                    }
                });
                failure.map_or(Ok(()), Err)?;
            }
        }
        spill.finish()
    }

    /// Settles the exports whose parts are at hand by the verdicts over their records: writes the lists of records that do
    /// not stand into the store's folder; gives their entries as JSON.
    ///
    /// # Errors
    /// Damage in a part, rows that do not add up, a full disk.
    pub fn settled_entries(
        &self,
        plan: &Plan,
        verdicts: &Buckets<Verdict>,
    ) -> Result<Vec<Vec<u8>>, StoreError> {
        let mut entries = Vec::new();
        for at in 0..self.manifest.exports.len() {
            let mut export = self.manifest.exports[at].clone();
            let here = |part| export.part_file(&self.layout, part).exists();
            // Of an export without parts there is nothing to settle.
            if export.parts.is_empty() || !export.parts.iter().all(here) {
                continue;
            }
            self.settle_export(plan, (at, &mut export), &verdicts.read(at)?)
                .map_err(|error| error.of_export(&export.source, &export.file))?;
            entries.push(json(&export)?);
        }
        Ok(entries)
    }

    fn settle_export(
        &self,
        plan: &Plan,
        (at, export): (usize, &mut ExportEntry),
        verdicts: &[Verdict],
    ) -> Result<(), StoreError> {
        let (manifest, layout) = (&self.manifest, &self.layout);
        for place in 0..export.parts.len() {
            let table = export.parts[place].table;
            let part = candidate(layout, export, &export.parts[place]);
            let records = usize::try_from(part.records);
            let mut fates =
                Fates::standing(records.map_err(|error| StoreError::damaged(&part.path, error))?);
            let own = |verdict: &&Verdict| Table::ALL.get(verdict.table as usize) == Some(&table);
            for verdict in verdicts.iter().filter(own) {
                let fate = match verdict.fate {
                    fate if fate == Fate::Duplicate as u32 => Fate::Duplicate,
                    _ => Fate::Superseded,
                };
                fates.mark(verdict.record as usize, fate);
            }
            let group = (export.source.clone(), table);
            let complete = complete_now(plan, &group).flatten();
            // Their order is asked for where it matters alone: it takes time that grows with the square of the exports.
            let is_last = || {
                let order = ordered(&manifest.exports, &export.source, table);
                order.last().is_some_and(|(last, ..)| *last == at)
            };
            if let Some(span) = complete.filter(|_| !is_last()) {
                withdraw_of(table, &part, span, &mut fates)?;
            }
            let dropped = fates.dropped();
            let entry = &mut export.parts[place];
            (entry.fates, entry.complete) = (dropped, complete);
            if dropped != Dropped::default() {
                let id = export.id();
                let aside = layout.work().join(format!("{}-{id}", table.name()));
                let hash = fates.save(&aside)?;
                let to = layout.dropped(table, &id, &hash);
                to.parent().map_or(Ok(()), make_folder)?;
                fs::rename(&aside, &to).map_err(StoreError::io(&to, "write"))?;
                export.parts[place].dropped = Some(hash);
            }
        }
        export.rows = account(layout, export)?;
        Ok(())
    }
}

/// An export's entry as JSON.
pub(super) fn json(export: &ExportEntry) -> Result<Vec<u8>, StoreError> {
    serde_json::to_vec(export).map_err(|error| StoreError::damaged(Path::new(&export.file), error))
}
