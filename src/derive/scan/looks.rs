//! Looks become events.

use arrow::array::{Array, BooleanArray, RecordBatch};

use super::columns::{Coded, Texts, booleans, fixed, hashed, listed};
use super::names::Lists;
use super::record_columns::Common;
use super::records::Reader;
use super::shared::note;
use crate::derive::DeriveError;
use crate::derive::face::event::{Event, Standard, flag, given, kind, looked};
use crate::records::{Disposition, Finding, Grading, Optic, Outcome, Side, Table, Zone};

/// Columns of a batch of looks, apart from the shared ones.
struct Looks<'a> {
    end_face: Texts<'a>,
    family: Coded<'a>,
    supplier: Coded<'a>,
    criteria: Coded<'a>,
    /// By hash: what two looks at one instant are told apart by.
    criteria_rank: Coded<'a>,
    grading: Coded<'a>,
    /// By hash: people are only told apart.
    inspector: Coded<'a>,
    instrument: Coded<'a>,
    fibre: Coded<'a>,
    side: Coded<'a>,
    optic: Coded<'a>,
    outcome: Coded<'a>,
    finding: Coded<'a>,
    zone: Coded<'a>,
    disposition: Coded<'a>,
    capped: &'a BooleanArray,
}

impl<'a> Looks<'a> {
    fn of(batch: &'a RecordBatch, lists: &Lists) -> Result<Self, DeriveError> {
        Ok(Looks {
            end_face: Texts::of(batch, "end_face")?,
            family: listed(batch, "family", &lists.family)?,
            supplier: listed(batch, "supplier", &lists.supplier)?,
            criteria: listed(batch, "criteria", &lists.criteria)?,
            criteria_rank: hashed(batch, "criteria")?,
            grading: fixed(batch, "grading", Grading::WORDS)?,
            inspector: hashed(batch, "inspector")?,
            instrument: listed(batch, "instrument", &lists.device)?,
            fibre: hashed(batch, "fibre")?,
            side: fixed(batch, "side", Side::WORDS)?,
            optic: fixed(batch, "optic", Optic::WORDS)?,
            outcome: fixed(batch, "outcome", Outcome::WORDS)?,
            finding: fixed(batch, "finding", Finding::WORDS)?,
            zone: fixed(batch, "zone", Zone::WORDS)?,
            disposition: fixed(batch, "disposition", Disposition::WORDS)?,
            capped: booleans(batch, "capped")?,
        })
    }

    fn standard(&self, row: usize) -> Standard {
        Standard::of(self.criteria.get(row), self.grading.get(row) as u8)
    }

    fn flags(&self, row: usize) -> u8 {
        let mut flags = 0;
        if self.capped.is_valid(row) {
            flags |= flag::CAP_KNOWN | if self.capped.value(row) { flag::CAPPED } else { 0 };
        }
        let disposition = given(Disposition::ALL, self.disposition.get(row) as u8);
        if disposition.is_some_and(Disposition::is_reject) {
            flags |= flag::REJECT;
        }
        flags
    }
}

impl Reader<'_> {
    /// Reads a batch of looks.
    pub(super) fn looks(&mut self, batch: &RecordBatch) -> Result<(), DeriveError> {
        let lists = self.shared.lists;
        let (common, looks) = (Common::of(batch, lists)?, Looks::of(batch, lists)?);
        for row in 0..batch.num_rows() {
            let Some((at, by_day)) = common.at(row) else { continue };
            let side = looks.side.get(row) as u8;
            let name = looks.end_face.get(row);
            let key = self.keys.end_face(self.naming, name, common.site(row), side);
            let event = Event {
                key,
                family: looks.family.get(row),
                supplier: looks.supplier.get(row),
                device: looks.instrument.get(row),
                detail: looks.fibre.get(row),
                mating: looked(looks.inspector.get(row), looks.standard(row)),
                side,
                optic: looks.optic.get(row) as u8,
                outcome: looks.outcome.get(row) as u8,
                finding: looks.finding.get(row) as u8,
                zone: looks.zone.get(row) as u8,
                flags: looks.flags(row),
                day_minutes: if by_day { self.local.holding(at).minutes() } else { 0 },
                ..common.event(row, at, kind::LOOK, self.source, &mut self.keys)
            };
            self.hear(Table::Inspections, event.site, key, name);
            self.facts.seen(event.site, at);
            let day = self.fleet.holding(at);
            let criteria = (looks.criteria_rank.get(row), looks.criteria.get(row));
            self.facts.look(self.source, event.site, at, day, criteria);
            note(&mut self.precision.looks, by_day);
            self.push(&event)?;
        }
        Ok(())
    }
}
