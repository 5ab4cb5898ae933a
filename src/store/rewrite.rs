//! Parts that are written anew with some of what they held taken out or changed.
//!
//! An export is written anew as a whole or not at all, under new names and with a higher edition, in one
//! run: whatever stops it, the store has the old files or the new ones.

use std::collections::BTreeSet;

use arrow::array::RecordBatch;

use crate::intake::Rejected;
use crate::records::schema;
use crate::settings::Plan;

use super::StoreError;
use super::fates::Dropped;
use super::layout::Layout;
use super::manifest::{ExportEntry, Manifest, PartEntry};
use super::origin::{Origin, OriginPart};
use super::part::PartWriter;
use super::quarantine::{QuarantineWriter, Quarantined, all_rows, reasons_of};
use super::read::{BATCH_ROWS, open_part};
use super::run::Run;
use super::sink::MEMORY_OF_PARTS;
use super::stage::{groups_of, settle_again};

/// What is to become of the records and the quarantined rows of a store. Asked for everything in it,
/// standing or not, export by export in the order of source, file and hash; of an export that changes
/// twice, first until something does and then for all of it, so the answers must be the same.
pub trait Rewrite {
    /// A batch of a part's records with all columns of its table, in their order; none where it stays as
    /// it is. Identity columns and the row must stay, and so must the number of records: they are what
    /// promises 1 and 2 are kept by.
    fn records(&mut self, export: &Whence, batch: &RecordBatch) -> Option<RecordBatch>;

    /// Changes a quarantined row; whether it did.
    fn quarantined(&mut self, export: &Whence, row: &mut Quarantined) -> bool;
}

/// Which part is being written anew.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Whence {
    /// Name of the source.
    pub source: String,
    /// Path of the export relative to the settings' folder.
    pub file: String,
    /// Table of the records; none for the quarantine.
    pub table: Option<crate::records::Table>,
}

/// Writes anew what changes; gives the manifest that follows and how many exports it concerns.
pub(super) fn rewrite(
    layout: &Layout,
    run: &Run,
    plan: &Plan,
    manifest: &Manifest,
    change: &mut dyn Rewrite,
) -> Result<(Manifest, usize), StoreError> {
    let mut next = manifest.clone();
    let mut touched = BTreeSet::new();
    let mut count = 0;
    for (number, entry) in next.exports.iter_mut().enumerate() {
        let of_export = |error: StoreError| error.of_export(&entry.source, &entry.file);
        if !changes(layout, entry, change).map_err(of_export)? {
            continue;
        }
        let anew = write_anew(layout, run, number, entry, change).map_err(of_export)?;
        *entry = anew;
        touched.extend(groups_of(entry));
        count += 1;
    }
    settle_again(layout, run, plan, &mut next, &touched)?;
    Ok((next, count))
}

fn whence(entry: &ExportEntry, table: Option<crate::records::Table>) -> Whence {
    Whence { source: entry.source.clone(), file: entry.file.clone(), table }
}

/// Whether anything of an export is to change.
fn changes(
    layout: &Layout,
    entry: &ExportEntry,
    change: &mut dyn Rewrite,
) -> Result<bool, StoreError> {
    for part in &entry.parts {
        let of = whence(entry, Some(part.table));
        let opened = open_part(&entry.part_file(layout, part), &schema(part.table), &part.sums)?;
        for batch in opened.batches(&[], BATCH_ROWS)? {
            if change.records(&of, &batch?).is_some() {
                return Ok(true);
            }
        }
    }
    let of = whence(entry, None);
    if let Some((path, hash)) = entry.quarantine_file(layout) {
        for row in all_rows(&path, hash)? {
            if change.quarantined(&of, &mut row?) {
                return Ok(true);
            }
        }
    }
    Ok(false)
}

/// Writes all files of an export anew, with a higher edition.
fn write_anew(
    layout: &Layout,
    run: &Run,
    number: usize,
    entry: &ExportEntry,
    change: &mut dyn Rewrite,
) -> Result<ExportEntry, StoreError> {
    let origin = origin_of(entry);
    let metadata = origin.metadata();
    let mut anew = ExportEntry { edition: origin.edition, plain_names: false, ..entry.clone() };
    for (part, old) in anew.parts.iter_mut().zip(&entry.parts) {
        let of = whence(entry, Some(part.table));
        let path = run.work_file(&format!("{number}-{}.parquet", part.table.name()))?;
        let mut writer = PartWriter::table(&path, part.table)?;
        let opened = open_part(&entry.part_file(layout, old), &schema(old.table), &old.sums)?;
        for batch in opened.batches(&[], BATCH_ROWS)? {
            let batch = batch?;
            let changed = change.records(&of, &batch);
            let changed = changed.as_ref().unwrap_or(&batch);
            if changed.num_rows() != batch.num_rows() || changed.schema() != batch.schema() {
                return Err(StoreError::Unbalanced {
                    file: entry.file.clone(),
                    what: "records written anew",
                    found: changed.num_rows() as u64,
                    expected: batch.num_rows() as u64,
                });
            }
            writer.push(changed)?;
            if writer.memory() > MEMORY_OF_PARTS {
                writer.flush()?;
            }
        }
        let finished = writer.finish(&metadata)?;
        *part = PartEntry {
            fates: Dropped::default(),
            dropped: None,
            hash: finished.hash,
            sums: finished.sums,
            ..part.clone()
        };
        let hash = part.hash.clone();
        run.keep(path, layout.part(part.table, &entry.id(), Some(&hash)));
    }
    if let Some((old, hash)) = entry.quarantine_file(layout) {
        let of = whence(entry, None);
        let path = run.work_file(&format!("{number}-quarantine.parquet"))?;
        let mut writer = QuarantineWriter::start(&path, &entry.source, &entry.file)?;
        for row in all_rows(&old, hash)? {
            let mut row = row?;
            change.quarantined(&of, &mut row);
            let Quarantined { line, table, column, reason, raw, .. } = row;
            let table = crate::records::Table::named(&table).map_or("", |table| table.name());
            writer.push(Rejected { line, table, column, reason, raw })?;
        }
        let finished = writer.finish(&metadata)?;
        anew.reasons = reasons_of(&path, &finished.hash)?;
        run.keep(path, layout.quarantine(&entry.id(), Some(&finished.hash)));
        anew.quarantine = Some(finished.hash);
    }
    Ok(anew)
}

/// What the new files of an export say of it.
fn origin_of(entry: &ExportEntry) -> Origin {
    let part = |part: &PartEntry| OriginPart {
        table: part.table,
        records: part.records,
        newest: part.newest,
        complete: part.complete,
    };
    Origin {
        source: entry.source.clone(),
        file: entry.file.clone(),
        hash: entry.hash.clone(),
        version: entry.version,
        digest: entry.digest.clone(),
        timezone: entry.timezone,
        end_face_names: entry.end_face_names,
        one_name_both_sides: entry.one_name_both_sides,
        taken: entry.taken,
        edition: entry.edition.saturating_add(1),
        read: entry.rows.read,
        quarantined: entry.rows.quarantined,
        has_quarantine: entry.quarantine.is_some(),
        parts: entry.parts.iter().map(part).collect(),
    }
}
