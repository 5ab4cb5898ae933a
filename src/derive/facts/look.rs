//! A visit as a row, and its cycles as rows behind it.

use bytemuck::{Pod, Zeroable};

use super::bits;
use crate::derive::face::event::NO_MATING;
use crate::derive::face::visit::{
    CleanedWhileClean, Cycle, Earlier, Ending, Face, Look, SecondLooks, Visit,
};
use crate::derive::scan::key::Key;
use crate::records::Finding;

/// Stands for "none" among numbers of cycles.
const NONE: u32 = u32::MAX;

/// Bits of `VisitFact::flags`.
mod flag {
    pub(super) const CAP_KNOWN: u8 = 1;
    pub(super) const CAPPED: u8 = 2;
    pub(super) const PROMPTED: u8 = 4;
    pub(super) const AGAIN: u8 = 8;
    pub(super) const FIRST_RECORDED: u8 = 16;
    pub(super) const EARLIER: u8 = 32;
    pub(super) const EARLIER_PASSED: u8 = 64;
}

/// All that is counted of a visit: not which end face it was of, nor its mating. 88 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct VisitFact {
    start: i64,
    work_order: u64,
    earlier_ended: i64,
    site: u32,
    family: u32,
    supplier: u32,
    instrument: u32,
    cleanings: u32,
    first_method: u32,
    passed_at: u32,
    pass_without_cycle: u32,
    earlier_matings: u32,
    second_looks: u32,
    second_failing: u32,
    /// How many of its rows follow: cycles, then cleanings while clean.
    cycles: u32,
    cleaned_while_clean: u32,
    stage: u8,
    side: u8,
    optic: u8,
    first: u8,
    first_zone: u8,
    last: u8,
    ending: u8,
    earlier_stage: u8,
    flags: u8,
    padding: [u8; 3],
}

/// A cycle of a visit, or a cleaning of an end face that had just passed. 16 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct CycleFact {
    method: u32,
    tool: u32,
    cleanings: u32,
    /// The look after it.
    look: u8,
    began_clean: u8,
    padding: [u8; 2],
}

/// What a look said as a small number: 0 for none, 1 for a pass, then the findings in their order.
fn look_code(look: Option<Look>) -> u8 {
    match look {
        None => 0,
        Some(Look::Pass) => 1,
        Some(Look::Fail(finding)) => 2 + finding as u8,
    }
}

fn look(code: u8) -> Option<Look> {
    match code {
        0 => None,
        1 => Some(Look::Pass),
        failed => Finding::ALL.get(usize::from(failed - 2)).copied().map(Look::Fail),
    }
}

impl VisitFact {
    /// Of a visit.
    pub fn of(visit: &Visit) -> VisitFact {
        let Visit {
            key: _,
            start,
            site,
            stage,
            face: Face { family, side, optic, supplier },
            capped,
            first,
            first_zone,
            instrument,
            last,
            cycles,
            passed_at,
            pass_without_cycle,
            ending,
            cleanings,
            first_method,
            cleaned_while_clean,
            work_order,
            prompted,
            again,
            first_recorded,
            earlier,
            second_looks,
            last_mating: _,
            first_since_mating: _,
            touched: _,
        } = visit;
        let flags = bits([
            (capped.is_some(), flag::CAP_KNOWN),
            (*capped == Some(true), flag::CAPPED),
            (*prompted, flag::PROMPTED),
            (*again, flag::AGAIN),
            (*first_recorded, flag::FIRST_RECORDED),
            (earlier.is_some(), flag::EARLIER),
            (earlier.is_some_and(|earlier| earlier.passed), flag::EARLIER_PASSED),
        ]);
        VisitFact {
            start: *start,
            work_order: *work_order,
            earlier_ended: earlier.map_or(0, |earlier| earlier.ended),
            site: *site,
            family: *family,
            supplier: *supplier,
            instrument: *instrument,
            cleanings: *cleanings,
            first_method: *first_method,
            passed_at: passed_at.unwrap_or(NONE),
            pass_without_cycle: pass_without_cycle.unwrap_or(NONE),
            earlier_matings: earlier.map_or(0, |earlier| earlier.matings),
            second_looks: second_looks.looks,
            second_failing: second_looks.failing,
            cycles: cycles.len() as u32,
            cleaned_while_clean: cleaned_while_clean.len() as u32,
            stage: *stage,
            side: *side,
            optic: *optic,
            first: look_code(*first),
            first_zone: *first_zone,
            last: look_code(*last),
            ending: *ending as u8,
            earlier_stage: earlier.map_or(0, |earlier| earlier.stage),
            flags,
            padding: [0; 3],
        }
    }

    /// How many rows stand behind it.
    pub fn rows(&self) -> usize {
        self.cycles as usize + self.cleaned_while_clean as usize
    }

    /// The visit again, in the place of one that is no longer needed. Its end face and matings are not known.
    pub fn read<'c>(&self, mut rows: &'c [CycleFact], visit: &mut Visit) -> &'c [CycleFact] {
        let has = |flag: u8| self.flags & flag != 0;
        let numbered = |number: u32| Some(number).filter(|number| *number != NONE);
        let mut take = |count: u32| {
            let (taken, rest) = rows.split_at(rows.len().min(count as usize));
            rows = rest;
            taken
        };
        let ending = Ending::ALL.get(usize::from(self.ending)).copied();
        visit.cycles.clear();
        visit.cycles.extend(take(self.cycles).iter().filter_map(CycleFact::cycle));
        visit.cleaned_while_clean.clear();
        let cleaned = take(self.cleaned_while_clean).iter().map(CycleFact::cleaned);
        visit.cleaned_while_clean.extend(cleaned);
        *visit = Visit {
            key: Key::NONE,
            start: self.start,
            site: self.site,
            stage: self.stage,
            face: Face {
                family: self.family,
                side: self.side,
                optic: self.optic,
                supplier: self.supplier,
            },
            capped: has(flag::CAP_KNOWN).then_some(has(flag::CAPPED)),
            first: look(self.first),
            first_zone: self.first_zone,
            instrument: self.instrument,
            last: look(self.last),
            cycles: std::mem::take(&mut visit.cycles),
            passed_at: numbered(self.passed_at),
            pass_without_cycle: numbered(self.pass_without_cycle),
            ending: ending.unwrap_or(Ending::Unverified),
            cleanings: self.cleanings,
            first_method: self.first_method,
            cleaned_while_clean: std::mem::take(&mut visit.cleaned_while_clean),
            work_order: self.work_order,
            prompted: has(flag::PROMPTED),
            again: has(flag::AGAIN),
            first_recorded: has(flag::FIRST_RECORDED),
            earlier: has(flag::EARLIER).then_some(Earlier {
                stage: self.earlier_stage,
                passed: has(flag::EARLIER_PASSED),
                ended: self.earlier_ended,
                matings: self.earlier_matings,
            }),
            second_looks: SecondLooks { looks: self.second_looks, failing: self.second_failing },
            last_mating: NO_MATING,
            first_since_mating: false,
            touched: false,
        };
        rows
    }
}

impl CycleFact {
    /// The rows that follow a visit.
    pub fn of(visit: &Visit) -> impl Iterator<Item = CycleFact> {
        let cycles = visit.cycles.iter().map(|cycle| CycleFact {
            method: cycle.method,
            tool: cycle.tool,
            cleanings: cycle.cleanings,
            look: look_code(Some(cycle.closed_by)),
            began_clean: cycle.began_clean.into(),
            padding: [0; 2],
        });
        let cleaned = visit.cleaned_while_clean.iter().map(|cleaned| CycleFact {
            method: cleaned.method,
            look: look_code(cleaned.then),
            ..CycleFact::default()
        });
        cycles.chain(cleaned)
    }

    fn cycle(&self) -> Option<Cycle> {
        Some(Cycle {
            method: self.method,
            tool: self.tool,
            cleanings: self.cleanings,
            closed_by: look(self.look)?,
            began_clean: self.began_clean == 1,
        })
    }

    fn cleaned(&self) -> CleanedWhileClean {
        CleanedWhileClean { method: self.method, then: look(self.look) }
    }
}
