//! Promise 1: what became of every row of every export.
//!
//! A row may yield several records. It counts as loaded if one of them stands, else as superseded if
//! one was superseded, or withdrawn by an export that holds everything, else as duplicate.

use std::iter::Peekable;

use arrow::array::AsArray;
use arrow::buffer::ScalarBuffer;
use arrow::datatypes::UInt64Type;
use serde::{Deserialize, Serialize};

use crate::records::{ROW_COLUMN, schema};

use super::form::{ExportEntry, PartEntry, Reason};
use super::layout::Layout;
use crate::store::read::{BATCH_ROWS, Batches, open_part};
use crate::store::settle::fates::{Fate, Fates};
use crate::store::{Expired, StoreError};

/// Rows of one export: `read` is the sum of the others but `withdrawn`, which is part of `superseded`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RowAccount {
    /// Data rows in the file.
    pub read: u64,
    /// Rows with a record that stands.
    pub loaded: u64,
    /// Rows whose records were replaced by later ones with other content, or withdrawn.
    pub superseded: u64,
    /// Of those, rows that a later export which holds everything leaves out.
    pub withdrawn: u64,
    /// Rows that say what another row says.
    pub duplicate: u64,
    /// Rows that could not be typed.
    pub quarantined: u64,
    /// Rows of which every record was dropped for its age.
    #[serde(default)]
    pub expired: u64,
}

impl RowAccount {
    /// Sum of what became of the rows; none where it exceeds 64 bits.
    pub(in crate::store) fn accounted(&self) -> Option<u64> {
        [self.superseded, self.duplicate, self.quarantined, self.expired]
            .into_iter()
            .try_fold(self.loaded, u64::checked_add)
    }
}

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
    /// The quarantined rows by place of the fault, ordered.
    pub reasons: Vec<Reason>,
    /// Records dropped for their age, by table.
    pub expired: Vec<Expired>,
}

impl FileAccount {
    pub(in crate::store) fn of(export: &ExportEntry) -> Self {
        Self {
            source: export.source.clone(),
            file: export.file.clone(),
            hash: export.hash.clone(),
            rows: export.rows,
            reasons: export.reasons.clone(),
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
