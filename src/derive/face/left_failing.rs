//! End faces that were left failing (5.11): the last thing known of them is a failing look.
//!
//! Listed is an end face whose last event up to the period's end, unreadable looks and dematings
//! apart, is a look that failed, in a visit that ended `left-failing` (V5). So a cleaning since
//! (nobody looked, but somebody has seen to it) takes it off the list, and so does a disposition
//! (reject, repolish, replace: somebody has decided), the end of its service in the register, and a
//! mating: what was mated in spite of it is weighed as a mating, with the others of that kind. A recessed
//! lens, which no tool reaches and which works in spite of dirt, is listed only if a ticket of the
//! time since `open_fault_days` before the visit names it. What comes after the period is not read,
//! so that a past review can be repeated.

use std::cmp::Reverse;

use serde::{Deserialize, Serialize};

use super::event::{Event, kind};
use super::surroundings::Surroundings;
use super::visit::{Ending, Face, Look, Visit};
use super::visits::{Visits, look_of};
use crate::calendar::DAY_US;
use crate::derive::scan::key::Key;
use crate::records::Finding;

/// Cycles tried are told apart up to this; 5.2's limit goes no further.
pub const MOST_CYCLES_TRIED: u32 = 20;

/// One end face left failing. In order: the latest first, then by key, of which each has one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct LeftFailing {
    /// Time of the look that left it so, microseconds UTC.
    pub at: Reverse<i64>,
    /// The end face.
    pub key: Key,
    /// Of that look.
    pub finding: Finding,
    /// Innermost zone that failed it, 1 to 4 for A to D, 0 where not recorded.
    pub zone: u8,
    /// Cycles of the visit (V2).
    pub cycles: u32,
    /// A recessed lens.
    pub recessed: bool,
    /// Code of the stage of that look.
    pub stage: u8,
    /// Place in `records::Side` plus 1, 0 where not known.
    pub side: u8,
    /// Code of the site.
    pub site: u32,
    /// Code of the connector family.
    pub family: u32,
}

impl LeftFailing {
    /// What its saving depends on, since the work does: stage, family, finding (or a recessed lens),
    /// cycles tried. Within a cell all savings are equal and the latest come first, so the first
    /// rows of each cell hold the first rows of the whole list.
    pub fn cell(&self) -> [u32; 4] {
        let finding = if self.recessed { 3 } else { self.finding as u32 };
        [self.stage.into(), self.family, finding, self.cycles]
    }
}

/// What was left of one end face; `registered` and `in_service_to` are the register's.
pub fn left_failing(
    events: &[Event],
    registered: Face,
    in_service_to: i64,
    around: &Surroundings,
) -> Option<LeftFailing> {
    let known = || events.iter().filter(|event| event.at < around.period_end);
    let is_last = |event: &&Event| match event.kind {
        kind::LOOK => look_of(event).is_some(),
        kind::CLEANING | kind::MATING => true,
        _ => false,
    };
    // Nearly every end face ends here: it was left clean, or is mated.
    let last = known().rev().find(is_last).filter(|event| event.kind == kind::LOOK)?;
    let Some(Look::Fail(finding)) = look_of(last) else { return None };
    if in_service_to < around.period_end {
        return None;
    }
    let visit = last_visit(known(), registered, around)?;
    let recessed = visit.face.is_recessed();
    if visit.ending != Ending::LeftFailing || (recessed && !is_named(&visit, around)) {
        return None;
    }
    Some(LeftFailing {
        at: Reverse(last.at),
        key: last.key,
        finding,
        zone: last.zone,
        cycles: (visit.cycles.len() as u32).min(MOST_CYCLES_TRIED),
        recessed,
        stage: visit.stage,
        side: visit.face.side,
        site: visit.site,
        family: visit.face.family,
    })
}

/// The last visit that these events make (V1).
fn last_visit<'a>(
    events: impl Iterator<Item = &'a Event>,
    registered: Face,
    around: &Surroundings,
) -> Option<Visit> {
    let mut visits = Visits::new(around.rules, around.mixed);
    let mut last = None;
    for event in events {
        let Event { family, side, optic, supplier, .. } = *event;
        let face = Face { family, side, optic, supplier }.or(registered);
        match event.kind {
            kind::LOOK | kind::CLEANING => {
                visits.work(event, face, &mut |visit| last = Some(visit));
            }
            kind::MATING => visits.mating(event),
            _ => {}
        }
    }
    visits.close(&mut |visit| last = Some(visit));
    last
}

/// Whether a ticket names the end face, opened since shortly before the visit.
fn is_named(visit: &Visit, around: &Surroundings) -> bool {
    let before = i64::from(around.rules.open_fault_days) * DAY_US;
    let since = visit.start.saturating_sub(before);
    let tickets = around.named.of(visit.key).unwrap_or_default();
    tickets.iter().any(|ticket| (since..around.period_end).contains(&ticket.opened))
}
