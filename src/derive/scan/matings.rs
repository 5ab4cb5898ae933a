//! Matings become an event for each end, and a row of their own.

use arrow::array::RecordBatch;

use super::columns::{Texts, Times, fixed, listed};
use super::key::Key;
use super::record_columns::Common;
use super::records::Reader;
use super::shared::note;
use crate::derive::DeriveError;
use crate::derive::face::end_state::window_start;
use crate::derive::face::event::{Event, MatingRow, NEVER, flag, kind};
use crate::records::{Side, Table};

impl Reader<'_> {
    /// Reads a batch of matings.
    pub(super) fn mating_rows(&mut self, batch: &RecordBatch) -> Result<(), DeriveError> {
        let common = Common::of(batch, self.shared.lists)?;
        let names = [Texts::of(batch, "end_face_a")?, Texts::of(batch, "end_face_b")?];
        let sides = [fixed(batch, "side_a", Side::WORDS)?, fixed(batch, "side_b", Side::WORDS)?];
        let demated = Times::of(batch, "demated_at", "demated_at_precision")?;
        let operator = listed(batch, "operator", &self.shared.lists.operator)?;
        for row in 0..batch.num_rows() {
            let number = self.next_mating;
            self.next_mating += 1;
            let Some((given, by_day)) = common.at(row) else { continue };
            let day = self.local.holding(given);
            // Known to the day only: it counts as the day's last microsecond.
            let at = if by_day { day.next - 1 } else { given };
            let event = Event {
                // A demating known to the day counts as its start, but not before its own mating.
                ends: demated.get(row).map_or(NEVER, |(demated, _)| demated.max(at)),
                mating: number,
                day_minutes: if by_day { day.minutes() } else { 0 },
                ..common.event(row, at, kind::MATING, self.source, &mut self.keys)
            };
            let site = common.site(row);
            let side = [0, 1].map(|end: usize| sides[end].get(row) as u8);
            let ends = [0, 1]
                .map(|end| self.keys.end_face(self.naming, names[end].get(row), site, side[end]));
            for end in [0, 1] {
                self.hear(Table::Matings, event.site, ends[end], names[end].get(row));
            }
            note(&mut self.precision.matings, by_day);
            let touched = self.note_mating(&event, ends, common.record(row), site);
            let touched = if touched { flag::TOUCHED } else { 0 };
            for end in [0, 1] {
                let flags = touched | if end == 1 { flag::END_B } else { 0 };
                self.push(&Event { key: ends[end], side: side[end], flags, ..event })?;
            }
            self.push_mating(&event, ends, by_day, operator.get(row))?;
        }
        Ok(())
    }

    fn push_mating(
        &mut self,
        event: &Event,
        ends: [Key; 2],
        by_day: bool,
        operator: u32,
    ) -> Result<(), DeriveError> {
        let row = MatingRow {
            number: event.mating,
            at: event.at,
            demated: event.ends,
            window_start: window_start(event, &self.shared.plan.rules),
            ends,
            site: event.site,
            source: event.source,
            stage: event.stage,
            day_only: u8::from(by_day),
            work_order: (event.work_order >> 32) as u32 ^ event.work_order as u32,
            operator,
        };
        self.matings.push(self.shared.spread.mating(row.number), &row)?;
        Ok(())
    }

    /// Notes the mating with its site; whether a ticket names it or one of its ends.
    fn note_mating(&mut self, event: &Event, ends: [Key; 2], record: &str, site: &str) -> bool {
        self.facts.seen(event.site, event.at);
        let day = self.fleet.holding(event.at);
        self.facts.month(event.site, day).matings += 1;
        let mut touched = ends.iter().any(|key| self.shared.named.may_name(*key));
        if !record.is_empty() && !self.hits.is_empty() {
            let key = self.keys.mating(record, site);
            touched |= self.hits.note(key, event.mating, event.at);
        }
        touched
    }
}
