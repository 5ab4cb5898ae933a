//! Pass one for one end face: its events in order become visits and the halves of its matings.

use super::agreement::{LookPair, Pairing};
use super::end_state::{Known, Watch};
use super::event::{Event, Half, NEVER, NO_MATING, kind, later};
use super::left_failing::{LeftFailing, left_failing};
use super::order::{join_fibres, order};
use super::surroundings::Surroundings;
use super::visit::{Face, Look, Visit};
use super::visits::{Visits, look_of};
use crate::calendar::DAY_US;
use crate::derive::mating::named::{Candidates, Named};
use crate::records::Finding;

/// Receives what pass one finds.
pub trait FaceSink {
    fn visit(&mut self, visit: Visit);
    fn half(&mut self, half: Half);
    /// An end that is mated: the last stage before at which it was looked at since it was last mated, 0 for none.
    fn mated_end(&mut self, mating: &Event, looked_at: u8);
    /// The last matings of the end face up to a ticket's opening.
    fn candidates(&mut self, candidates: Candidates);
    /// A mating that replaced another of the end face while tickets were written (F2); its site.
    fn replaced(&mut self, site: u32);
    /// A look that names something else than the register does (R3).
    fn conflict(&mut self);
    /// A look, readable or not, several fibres joined.
    fn look(&mut self, look: &Event);
    /// All events of an end face, in order.
    fn events(&mut self, events: &[Event]);
    /// Two looks in a row by different people or instruments.
    fn look_pair(&mut self, pair: LookPair);
    /// An end face at a site: whether it is in the register, and whether anything else names it.
    fn end_face(&mut self, site: u32, registered: bool, named: bool);
    /// An end face that was left failing at the period's end (5.11).
    fn left_failing(&mut self, left: LeftFailing);
}

/// Reads one bucket of events, in any order.
pub fn read_bucket(events: &[Event], around: &Surroundings, sink: &mut impl FaceSink) {
    read_ordered(&order(events), around, sink);
}

/// Reads events that are in order.
pub fn read_ordered(ordered: &[Event], around: &Surroundings, sink: &mut impl FaceSink) {
    for face in ordered.chunk_by(|a, b| a.key == b.key) {
        match join_fibres(face) {
            Some(joined) => read_face(&joined, around, sink),
            None => read_face(face, around, sink),
        }
    }
}

fn read_face(events: &[Event], around: &Surroundings, sink: &mut impl FaceSink) {
    let attributes = |event: &Event| Face {
        family: event.family,
        side: event.side,
        optic: event.optic,
        supplier: event.supplier,
    };
    let is_look = |event: &Event| event.kind == kind::LOOK && look_of(event).is_some();
    let register = events.iter().filter(|event| event.kind == kind::REGISTER).max_by(|a, b| {
        // The later export of a source stands, else the first source by name.
        (b.source, a.seq, a.identity).cmp(&(a.source, b.seq, b.identity))
    });
    let registered = register.map(&attributes).unwrap_or_default();
    let first_known = events
        .iter()
        .filter(|event| is_look(event))
        .fold(Face::default(), |known, look| known.or(attributes(look)));
    let mut last_known = Face::default();
    let mut visits = Visits::new(around.rules, around.mixed);
    let mut watch = Watch::default();
    let mut pairing = Pairing::default();
    let mut looked_at = LookedAt::default();
    let mut halves = Halves {
        in_service_to: register.map_or(NEVER, |row| row.ends),
        period_end: around.period_end,
        tool: 0,
        parted: None,
        open: None,
    };
    for event in events {
        let own = attributes(event);
        let best = own.or(registered).or(last_known).or(first_known);
        match event.kind {
            kind::LOOK => {
                if own.conflicts(registered) {
                    sink.conflict();
                }
                sink.look(event);
                if let Some(pair) = pairing.look(event) {
                    sink.look_pair(pair);
                }
                if is_look(event) {
                    last_known = own.or(last_known);
                    looked_at.look(event.stage);
                }
                visits.work(event, own.or(registered), &mut |visit| sink.visit(visit));
                watch.take(event);
                halves.look(event);
            }
            kind::CLEANING => {
                visits.work(event, best, &mut |visit| sink.visit(visit));
                watch.take(event);
                pairing.other();
                halves.cleaning(event);
            }
            kind::MATING => {
                visits.mating(event);
                pairing.other();
                sink.mated_end(event, looked_at.mate(event.stage));
                if halves.replaces(event, around) {
                    sink.replaced(event.site);
                }
                halves.mating(event, best, watch.mate(event, around.rules), sink);
            }
            kind::DEMATING => {
                watch.take(event);
                pairing.other();
            }
            _ => watch.take(event),
        }
    }
    let named = events.iter().find(|event| event.kind != kind::REGISTER);
    if let Some(event) = named.or(register) {
        sink.end_face(event.site, register.is_some(), named.is_some());
    }
    visits.close(&mut |visit| sink.visit(visit));
    halves.close(sink);
    if let Some(left) =
        left_failing(events, registered, register.map_or(NEVER, |row| row.ends), around)
    {
        sink.left_failing(left);
    }
    sink.events(events);
    offer_candidates(events, around.named, sink);
}

/// Stages at which an end face was looked at since it was last mated, a bit a code; of codes beyond the bits nothing is
/// known.
#[derive(Default)]
struct LookedAt(u128);

impl LookedAt {
    fn look(&mut self, stage: u8) {
        self.0 |= 1_u128.checked_shl(stage.into()).unwrap_or(0);
    }

    /// The last of the stages before this one at which it was looked at, 0 for none: stages of the settings are numbered
    /// in their order, from 1.
    fn mate(&mut self, stage: u8) -> u8 {
        let looked_at = std::mem::take(&mut self.0) & !1;
        let before = looked_at & 1_u128.checked_shl(stage.into()).map_or(u128::MAX, |bit| bit - 1);
        before.checked_ilog2().unwrap_or(0) as u8
    }
}

/// The half of a mating waits for the next mating of its end face.
struct Halves {
    in_service_to: i64,
    period_end: i64,
    /// Tool of the last cleaning.
    tool: u32,
    /// Demating of the mating before, [`NEVER`] where not recorded.
    parted: Option<i64>,
    open: Option<Half>,
}

impl Halves {
    /// 4.5: a readable look tells how the end came out of its mating, unless something else came
    /// first.
    fn look(&mut self, event: &Event) {
        let code = match look_of(event) {
            None => return,
            Some(Look::Pass) => later::PASSED,
            Some(Look::Fail(Finding::Contamination)) => later::CONTAMINATED,
            Some(Look::Fail(Finding::Defect)) => later::DEFECTIVE,
            Some(Look::Fail(Finding::Unknown)) => later::UNCLEAR,
        };
        self.came_next(event, code);
    }

    fn cleaning(&mut self, event: &Event) {
        self.tool = event.device;
        self.came_next(event, later::CLEANED);
        if let Some(half) = self.open.as_mut().filter(|_| event.at < self.period_end) {
            half.cleaned = event.at;
        }
    }

    fn came_next(&mut self, event: &Event, code: u8) {
        let known = event.at < self.period_end;
        if let Some(half) = self.open.as_mut().filter(|_| known)
            && half.later == later::NOTHING
        {
            half.later = code;
        }
    }

    /// Whether a mating, known to the instant, comes soon enough after the one before to have replaced it, while
    /// tickets were written.
    fn replaces(&mut self, event: &Event, around: &Surroundings) -> bool {
        let Some(parted) = self.parted.replace(event.ends) else { return false };
        let days = i64::from(around.rules.replaced_within_days) * DAY_US;
        event.day_minutes == 0
            && event.at.saturating_sub(parted) <= days
            && around.named.covers(event.at)
    }

    fn mating(&mut self, event: &Event, face: Face, known: Known, sink: &mut impl FaceSink) {
        if let Some(half) = self.open.take() {
            sink.half(Half { next_at: event.at, next: event.mating, ..half });
        }
        self.open = Some(Half {
            mating: event.mating,
            next_at: NEVER,
            next: NO_MATING,
            in_service_to: self.in_service_to,
            family: face.family,
            supplier: face.supplier,
            optic: face.optic,
            side: face.side,
            state: known.state as u8,
            states: known.by_window.map(|state| state as u8),
            end: u8::from(event.has(super::event::flag::END_B)),
            later: later::NOTHING,
            cleaned: NEVER,
            tool: self.tool,
            standard: known.standard.0,
        });
    }

    fn close(&mut self, sink: &mut impl FaceSink) {
        if let Some(half) = self.open.take() {
            sink.half(half);
        }
    }
}

/// F2: hands every ticket that names this end face the matings it may belong to.
fn offer_candidates(events: &[Event], named: &Named, sink: &mut impl FaceSink) {
    let Some(key) = events.first().map(|event| event.key) else { return };
    let Some(tickets) = named.of(key) else { return };
    let matings: Vec<&Event> = events.iter().filter(|event| event.kind == kind::MATING).collect();
    for ticket in tickets {
        let up_to = matings.partition_point(|mating| mating.at <= ticket.opened);
        let back = |steps: usize| {
            up_to.checked_sub(steps).map_or(NO_MATING, |place| matings[place].mating)
        };
        if up_to > 0 {
            let matings = [back(1), back(2), back(3)];
            sink.candidates(Candidates { key, ticket: ticket.number, matings });
        }
    }
}
