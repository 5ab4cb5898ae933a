//! Promise 1: what became of every row of every export.
//!
//! A row may yield several records. It counts as loaded if one of them stands, else as superseded if
//! one was superseded, or withdrawn by an export that holds everything, else as duplicate.

use std::iter::Peekable;

use arrow::array::AsArray;
use arrow::buffer::ScalarBuffer;
use arrow::datatypes::UInt64Type;

use super::form::{ExportEntry, PartEntry, Reason};
use super::layout::Layout;
use super::row_account::RowAccount;
use crate::intake::LostCells;
use crate::records::{ROW_COLUMN, Table, schema};
use crate::store::read::{BATCH_ROWS, Batches, open_part};
use crate::store::settle::fates::{Fate, Fates};
use crate::store::{Expired, StoreError};

/// What became of one export.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileAccount {
    /// Name of the source.
    pub source: String,
    /// Path relative to the settings' folder.
    pub file: String,
    /// BLAKE3 of the file's bytes, hex.
    pub hash: String,
    /// Its rows by what became of them.
    pub rows: RowAccount,
    /// Its records by table, ordered.
    pub records: Vec<TableRecords>,
    /// The quarantined rows by place of the fault, ordered.
    pub reasons: Vec<Reason>,
    /// Cells of typed rows that could not be read and were left out, ordered.
    pub lost: Vec<LostCells>,
    /// Records dropped for their age, by table.
    pub expired: Vec<Expired>,
}

/// Records of one table of one export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TableRecords {
    /// What they are.
    pub table: Table,
    /// How many came of its rows.
    pub records: u64,
    /// How many of them stand.
    pub standing: u64,
}

impl TableRecords {
    fn of(part: &PartEntry) -> Self {
        Self { table: part.table, records: part.records, standing: part.standing() }
    }
}

impl FileAccount {
    pub(in crate::store) fn of(export: &ExportEntry) -> Self {
        Self {
            source: export.source.clone(),
            file: export.file.clone(),
            hash: export.hash.clone(),
            rows: export.rows,
            records: export.parts.iter().map(TableRecords::of).collect(),
            reasons: export.reasons.clone(),
            lost: export.lost.clone(),
            expired: export.expired.clone(),
        }
    }
}

/// Counts the rows of an export anew from its parts. `read` and `quarantined` are intake's counts,
/// `expired` that of whatever dropped them.
///
/// Parts hold their records in the order of the export's rows, so one pass over all of them at once
/// sees each row's records together, whatever the length of the file.
pub(in crate::store) fn count_rows(
    layout: &Layout,
    export: &ExportEntry,
) -> Result<RowAccount, StoreError> {
    let RowAccount { read, quarantined, expired, .. } = export.rows;
    let mut account = RowAccount { read, quarantined, expired, ..RowAccount::default() };
    let records = |part| Records::open(layout, export, part).map(Iterator::peekable);
    let mut parts = export.parts.iter().map(records).collect::<Result<Vec<_>, _>>()?;
    while let Some(row) = first_row(&mut parts)? {
        match fate_of(row, &mut parts) {
            Fate::Stands => account.loaded += 1,
            Fate::Superseded => account.superseded += 1,
            Fate::Withdrawn => {
                account.superseded += 1;
                account.withdrawn += 1;
            }
            Fate::Duplicate => account.duplicate += 1,
        }
    }
    match account.accounted() {
        Some(found) if found == read => Ok(account),
        found => Err(StoreError::Unbalanced {
            file: export.file.clone(),
            what: "loaded, superseded, duplicate, quarantined and expired",
            found: found.unwrap_or(u64::MAX),
            expected: read,
        }),
    }
}

/// The highest fate of a row's records, which are next in their parts and are passed over.
fn fate_of(row: u64, parts: &mut [Peekable<Records>]) -> Fate {
    let mut fate = Fate::Duplicate;
    for part in parts {
        let same = |next: &Result<(u64, Fate), _>| next.as_ref().is_ok_and(|(at, _)| *at == row);
        while let Some(Ok((_, of_record))) = part.next_if(same) {
            fate = fate.max(of_record);
        }
    }
    fate
}

/// The lowest row that a part has next; none at the end of all.
fn first_row(parts: &mut [Peekable<Records>]) -> Result<Option<u64>, StoreError> {
    let mut first = None;
    for part in parts {
        match part.next_if(Result::is_err) {
            Some(failed) => return failed.map(|(row, _)| Some(row)),
            None => {
                let row = part.peek().and_then(|next| next.as_ref().ok()).map(|(row, _)| *row);
                first = [first, row].into_iter().flatten().min();
            }
        }
    }
    Ok(first)
}

/// Row and fate of each record of a part.
struct Records {
    batches: Batches,
    fates: Fates,
    /// Rows of the current batch.
    rows: ScalarBuffer<u64>,
    /// Place in them.
    at: usize,
    /// Number of the next record.
    next: usize,
}

impl Records {
    fn open(layout: &Layout, export: &ExportEntry, part: &PartEntry) -> Result<Self, StoreError> {
        let path = layout.found_at(export.part_file(layout, part));
        let opened = open_part(&path, &schema(part.table), &part.sums)?;
        let batches = opened.batches(&[ROW_COLUMN], BATCH_ROWS)?;
        let fates = load_fates(layout, export, part)?.unwrap_or(Fates::standing(0));
        Ok(Self { batches, fates, rows: ScalarBuffer::default(), at: 0, next: 0 })
    }
}

impl Iterator for Records {
    type Item = Result<(u64, Fate), StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some(row) = self.rows.get(self.at) {
                let fate = self.fates.get(self.next);
                self.at += 1;
                self.next += 1;
                return Some(Ok((*row, fate)));
            }
            match self.batches.next()? {
                Ok(batch) => {
                    self.rows = batch.column(0).as_primitive::<UInt64Type>().values().clone();
                    self.at = 0;
                }
                Err(error) => return Some(Err(error)),
            }
        }
    }
}

/// The fates of a part's records; none where all stand.
pub(in crate::store) fn load_fates(
    layout: &Layout,
    export: &ExportEntry,
    part: &PartEntry,
) -> Result<Option<Fates>, StoreError> {
    let Some((path, hash)) = export.dropped_file(layout, part).zip(part.dropped.as_ref()) else {
        return Ok(None);
    };
    Fates::load(&layout.found_at(path), hash, part.records).map(Some)
}
