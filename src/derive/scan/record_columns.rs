//! Which columns of the store become events, and what looks, cleanings and matings have in common.

use arrow::array::{Int64Array, RecordBatch};

use super::columns::{Coded, Identities, Texts, Times, Words, integers, listed, prefix};
use super::key::Keys;
use super::names::Lists;
use crate::derive::DeriveError;
use crate::derive::face::event::Event;

/// Columns that are read of the register.
pub const FACE_COLUMNS: &[&str] = &[
    "end_face",
    "site",
    "family",
    "side",
    "optic",
    "supplier",
    "in_service_to",
    "in_service_to_precision",
    "identity",
];
/// Columns that are read of looks.
pub const LOOK_COLUMNS: &[&str] = &[
    "record",
    "site",
    "at",
    "at_precision",
    "seq",
    "end_face",
    "fibre",
    "stage",
    "family",
    "side",
    "optic",
    "outcome",
    "finding",
    "zone",
    "capped",
    "criteria",
    "grading",
    "inspector",
    "instrument",
    "work_order",
    "supplier",
    "disposition",
    "identity",
];
/// Columns that are read of cleanings.
pub const CLEANING_COLUMNS: &[&str] = &[
    "record",
    "site",
    "at",
    "at_precision",
    "seq",
    "end_face",
    "side",
    "stage",
    "method",
    "tool",
    "work_order",
    "identity",
];
/// Columns that are read of matings.
pub const MATING_COLUMNS: &[&str] = &[
    "record",
    "site",
    "at",
    "at_precision",
    "seq",
    "end_face_a",
    "side_a",
    "end_face_b",
    "side_b",
    "stage",
    "demated_at",
    "demated_at_precision",
    "operator",
    "work_order",
    "identity",
];

/// Columns that looks, cleanings and matings share.
pub struct Common<'a> {
    record: Texts<'a>,
    at: Times<'a>,
    seq: &'a Int64Array,
    site: Coded<'a>,
    site_word: Words<'a>,
    stage: Coded<'a>,
    work_order: Texts<'a>,
    identity: Identities<'a>,
}

impl<'a> Common<'a> {
    /// Those columns of a batch.
    pub fn of(batch: &'a RecordBatch, lists: &Lists) -> Result<Self, DeriveError> {
        Ok(Common {
            record: Texts::of(batch, "record")?,
            at: Times::of(batch, "at", "at_precision")?,
            seq: integers(batch, "seq")?,
            site: listed(batch, "site", &lists.site)?,
            site_word: Words::of(batch, "site")?,
            stage: listed(batch, "stage", &lists.stage)?,
            work_order: Texts::of(batch, "work_order")?,
            identity: Identities::of(batch)?,
        })
    }

    /// The time of a row, and whether only its day is known.
    pub fn at(&self, row: usize) -> Option<(i64, bool)> {
        self.at.get(row)
    }

    /// The site's name.
    pub fn site(&self, row: usize) -> &'a str {
        self.site_word.get(row)
    }

    /// The record's id, empty where not given.
    pub fn record(&self, row: usize) -> &'a str {
        self.record.get(row)
    }

    /// An event with what the shared columns say, of no end face yet and known to the instant.
    pub fn event(&self, row: usize, at: i64, kind: u8, source: u16, keys: &mut Keys) -> Event {
        let work_order = self.work_order.get(row);
        Event {
            at,
            seq: self.seq.value(row),
            record: prefix(self.record.get(row)),
            identity: self.identity.get(row),
            work_order: if work_order.is_empty() { 0 } else { keys.work_order(work_order) },
            site: self.site.get(row),
            source,
            kind,
            stage: self.stage.get(row) as u8,
            ..Event::default()
        }
    }
}
