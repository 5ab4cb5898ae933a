//! Parts written anew after they were taken: a person cut out, records too old dropped.
//!
//! An export of which anything changes is written anew whole, as its next edition, since each of its
//! files says the same of it. One run does it: stopped anywhere, the store is as it was. What stands is
//! settled again afterwards, as after an intake.

use std::collections::BTreeSet;

use arrow::array::{AsArray, RecordBatch};
use arrow::datatypes::UInt64Type;

use crate::intake::Rejected;
use crate::records::{ROW_COLUMN, Table, schema};
use crate::settings::Plan;
use crate::store::disk::part::PartWriter;
use crate::store::manifest::expired::note_expired;
use crate::store::manifest::form::{Example, ExportEntry, Manifest, PartEntry};
use crate::store::manifest::layout::Layout;
use crate::store::manifest::origin::{Origin, OriginPart};
use crate::store::open::run::Run;
use crate::store::read::{BATCH_ROWS, open_part};
use crate::store::settle::again::{groups_of, settle_again};
use crate::store::settle::fates::Dropped;
use crate::store::take::quarantine::{QuarantineWriter, Quarantined, Reasons, all_rows};
use crate::store::take::sink::{MEMORY_OF_PARTS, work_part, work_quarantine};
use crate::store::{RowAccount, StoreError};

/// What is to be changed.
pub(in crate::store) trait Edit {
    /// Columns by which to see whether a part of the table changes, empty for all; none: no part does.
    fn looks_at(&self, table: Table) -> Option<Vec<&'static str>>;
    /// Whether a batch of those columns changes.
    fn touches(&self, table: Table, batch: &RecordBatch) -> bool;
    /// The batch as it is to be, in the table's whole schema, perhaps without some of its records.
    fn batch(&mut self, table: Table, batch: RecordBatch) -> Result<RecordBatch, String>;
    /// A text of a rejected row as it is to be; none where nothing changes.
    fn text(&self, text: &str) -> Option<String>;
    /// Hears of a rejected row whose text was changed.
    fn changed_text(&mut self) {}
}

/// The manifest that follows; none where nothing changes.
pub(in crate::store) fn rewrite(
    layout: &Layout,
    run: &Run,
    plan: &Plan,
    manifest: &Manifest,
    edit: &mut dyn Edit,
) -> Result<Option<Manifest>, StoreError> {
    let mut next = manifest.clone();
    let mut touched = BTreeSet::new();
    for (number, entry) in next.exports.iter_mut().enumerate() {
        let changes = changes(layout, entry, edit);
        let of_export = |error: StoreError| error.of_export(&entry.source, &entry.file);
        if changes.map_err(of_export)? {
            touched.extend(groups_of(entry));
            let anew = Writing { layout, run, number, entry };
            *entry = anew.write(edit).map_err(of_export)?;
        }
    }
    if touched.is_empty() && next == *manifest {
        return Ok(None);
    }
    settle_again(layout, run, plan, &mut next, &touched)?;
    Ok(Some(next))
}

/// Whether anything of an export changes.
fn changes(layout: &Layout, entry: &ExportEntry, edit: &mut dyn Edit) -> Result<bool, StoreError> {
    for part in &entry.parts {
        let Some(columns) = edit.looks_at(part.table) else { continue };
        let path = entry.part_file(layout, part);
        let opened = open_part(&path, &schema(part.table), &part.sums)?;
        for batch in opened.batches(&columns, BATCH_ROWS)? {
            if edit.touches(part.table, &batch?) {
                return Ok(true);
            }
        }
    }
    let mut examples = entry.lost.iter().flat_map(|cells| &cells.examples);
    if examples.any(|example| edit.text(&example.reason).is_some()) {
        return Ok(true);
    }
    let Some((path, hash)) = entry.quarantine_file(layout) else { return Ok(false) };
    for row in all_rows(&path, hash)? {
        let row = row?;
        if edit.text(&row.reason).is_some() || edit.text(&row.raw).is_some() {
            return Ok(true);
        }
    }
    Ok(false)
}

/// One export on its way to its next edition.
struct Writing<'a> {
    layout: &'a Layout,
    run: &'a Run<'a>,
    /// Keeps its half-done files apart from those of others.
    number: usize,
    entry: &'a ExportEntry,
}

impl Writing<'_> {
    fn write(&self, edit: &mut dyn Edit) -> Result<ExportEntry, StoreError> {
        let old = self.entry;
        let mut rows = Rows::new(old.rows.read);
        let mut expired = old.expired.clone();
        let mut writers = Vec::new();
        for part in &old.parts {
            let writer = self.part(part, edit, &mut rows)?;
            let kept = writer.as_ref().map_or(0, PartWriter::rows);
            note_expired(&mut expired, part.table, part.records - kept);
            writers.extend(writer.map(|writer| (part, writer)));
        }
        let (quarantine, reasons) = self.quarantine(writers.is_empty(), edit)?;
        let mut lost = old.lost.clone();
        for example in lost.iter_mut().flat_map(|cells| &mut cells.examples) {
            if let Some(reason) = edit.text(&example.reason) {
                edit.changed_text();
                example.reason = reason;
            }
        }
        let RowAccount { read, quarantined, .. } = old.rows;
        let typed = read.saturating_sub(quarantined);
        let expired_rows = typed.saturating_sub(rows.count());
        let origin_part = |(part, writer): &(&PartEntry, PartWriter)| OriginPart {
            table: part.table,
            records: writer.rows(),
            newest: writer.newest(),
            complete: part.complete,
        };
        let origin = Origin {
            source: old.source.clone(),
            file: old.file.clone(),
            hash: old.hash.clone(),
            version: old.version,
            digest: old.digest.clone(),
            timezone: old.timezone,
            end_face_names: old.end_face_names,
            one_name_both_sides: old.one_name_both_sides,
            taken: old.taken,
            edition: old.edition + 1,
            read,
            quarantined,
            expired_rows,
            expired: expired.clone(),
            lost: lost.clone(),
            has_quarantine: quarantine.is_some(),
            parts: writers.iter().map(origin_part).collect(),
        };
        let metadata = origin.metadata();
        let quarantine = quarantine.map(|writer| writer.finish(&metadata)).transpose()?;
        let mut parts = Vec::new();
        for (part, writer) in writers {
            let done = writer.finish(&metadata)?;
            parts.push(PartEntry {
                table: part.table,
                records: done.rows,
                fates: Dropped::default(),
                complete: part.complete,
                newest: done.newest,
                hash: done.hash,
                sums: done.sums,
                dropped: None,
            });
        }
        let entry = ExportEntry {
            edition: origin.edition,
            plain_names: false,
            rows: RowAccount {
                read,
                loaded: typed.saturating_sub(expired_rows),
                quarantined,
                expired: expired_rows,
                ..RowAccount::default()
            },
            expired,
            lost,
            reasons,
            quarantine: quarantine.map(|done| done.hash),
            parts,
            ..old.clone()
        };
        self.place(&entry)?;
        Ok(entry)
    }

    /// Writes a part anew; none if no record of it is left.
    fn part(
        &self,
        part: &PartEntry,
        edit: &mut dyn Edit,
        rows: &mut Rows,
    ) -> Result<Option<PartWriter>, StoreError> {
        let path = self.entry.part_file(self.layout, part);
        let opened = open_part(&path, &schema(part.table), &part.sums)?;
        let mut writer: Option<PartWriter> = None;
        for batch in opened.batches(&[], BATCH_ROWS)? {
            let edited = edit.batch(part.table, batch?);
            let edited = edited.map_err(|why| StoreError::damaged(&path, why))?;
            if edited.num_rows() == 0 {
                continue;
            }
            rows.note(&edited);
            let writer = match &mut writer {
                Some(writer) => writer,
                none => {
                    let aside = work_part(self.run, self.number, part.table)?;
                    none.insert(PartWriter::table(&aside, part.table, &edited)?)
                }
            };
            writer.push(&edited)?;
            if writer.memory() > MEMORY_OF_PARTS {
                writer.flush()?;
            }
        }
        Ok(writer)
    }

    /// Writes the quarantine anew, if there is one or nothing else is left of the export.
    fn quarantine(
        &self,
        needed: bool,
        edit: &mut dyn Edit,
    ) -> Result<(Option<QuarantineWriter>, Vec<crate::store::Reason>), StoreError> {
        let old = self.entry.quarantine_file(self.layout);
        let mut reasons = Reasons::default();
        if old.is_none() && !needed {
            return Ok((None, reasons.finish()));
        }
        let aside = work_quarantine(self.run, self.number)?;
        let mut writer = QuarantineWriter::start(&aside, &self.entry.source, &self.entry.file)?;
        if let Some((path, hash)) = old {
            for row in all_rows(&path, hash)? {
                let Quarantined { line, table, column, reason, raw, .. } = row?;
                let texts = [edit.text(&reason), edit.text(&raw)];
                if texts.iter().any(Option::is_some) {
                    edit.changed_text();
                }
                let [reason, raw] =
                    [texts[0].clone().unwrap_or(reason), texts[1].clone().unwrap_or(raw)];
                let example = Example { line, reason: reason.clone(), raw: raw.clone() };
                reasons.add(&table, column.clone().unwrap_or_default(), || example);
                let table = Table::named(&table).map_or("", Table::name);
                writer.push(Rejected { line, table, column, reason, raw })?;
            }
        }
        Ok((Some(writer), reasons.finish()))
    }

    /// Keeps the finished files for their places.
    fn place(&self, entry: &ExportEntry) -> Result<(), StoreError> {
        for part in &entry.parts {
            let finished = work_part(self.run, self.number, part.table)?;
            self.run.keep(finished, entry.part_file(self.layout, part));
        }
        if let Some((place, _)) = entry.quarantine_file(self.layout) {
            self.run.keep(work_quarantine(self.run, self.number)?, place);
        }
        Ok(())
    }
}

/// Rows of an export of which a record is left: a bit each.
struct Rows(Vec<u64>);

impl Rows {
    fn new(read: u64) -> Self {
        // A count that no memory holds is damage, and then the sums of the account tell.
        Self(vec![0; usize::try_from(read.div_ceil(64)).unwrap_or(0)])
    }

    fn note(&mut self, batch: &RecordBatch) {
        let rows = batch
            .column_by_name(ROW_COLUMN)
            .and_then(|rows| rows.as_ref().as_primitive_opt::<UInt64Type>());
        for row in rows.into_iter().flat_map(|rows| rows.values()) {
            if let Some(word) = self.0.get_mut((row / 64) as usize) {
                *word |= 1 << (row % 64);
            }
        }
    }

    fn count(&self) -> u64 {
        self.0.iter().map(|word| u64::from(word.count_ones())).sum()
    }
}
