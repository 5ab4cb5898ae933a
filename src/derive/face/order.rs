//! The order of events: section 4's order at one instant, dematings made from their matings, and
//! the rows of one multi-fibre look joined (R4).

use std::cmp::Ordering;

use rustc_hash::{FxHashMap, FxHashSet};

use super::event::{Event, NEVER, kind};
use crate::records::Outcome;

/// A bucket's events by end face and in order, dematings included.
pub fn order(events: &[Event]) -> Vec<Event> {
    let mut places = places(events);
    places.sort_unstable_by_key(|place| (place.high, place.at));
    let mut ordered: Vec<Event> = places.iter().map(|place| place.event(events)).collect();
    settle(&mut ordered);
    ordered
}

/// The same without a second copy of the events, for a bucket of so many that this matters: whole events are moved.
pub fn order_in_place(mut events: Vec<Event>) -> Vec<Event> {
    for place in 0..events.len() {
        let event = events[place];
        if event.kind == kind::MATING && event.ends != NEVER {
            events.push(Event { kind: kind::DEMATING, at: event.ends, ..event });
        }
    }
    events.sort_unstable_by_key(|event| (event.key.high, event.at));
    settle(&mut events);
    events
}

/// Puts events in order that are so by half of their key and time.
fn settle(ordered: &mut [Event]) {
    for face in ordered.chunk_by_mut(|a, b| a.key.high == b.key.high) {
        if face.iter().any(|event| event.key.low != face[0].key.low) {
            face.sort_by_key(|event| (event.key, event.at));
        }
    }
    for instant in ordered.chunk_by_mut(|a, b| a.key == b.key && a.at == b.at) {
        if instant.len() > 1 {
            settle_instant(instant);
        }
    }
}

/// What the first, coarse sort moves instead of whole events.
struct Place {
    high: u64,
    at: i64,
    index: u32,
    demating: bool,
}

impl Place {
    fn event(&self, events: &[Event]) -> Event {
        let mut event = events[self.index as usize];
        if self.demating {
            event.kind = kind::DEMATING;
            event.at = event.ends;
        }
        event
    }
}

fn places(events: &[Event]) -> Vec<Place> {
    let mut places = Vec::with_capacity(events.len() + events.len() / 4);
    for (index, event) in events.iter().enumerate() {
        let place =
            |at, demating| Place { high: event.key.high, at, index: index as u32, demating };
        places.push(place(event.at, false));
        if event.kind == kind::MATING && event.ends != NEVER {
            places.push(place(event.ends, true));
        }
    }
    places
}

/// Orders the events of one end face at one instant: dematings of earlier matings; then looks and
/// cleanings source by source; then matings by seq, each followed by its own demating.
fn settle_instant(instant: &mut [Event]) {
    let (at, key) = (instant[0].at, instant[0].key);
    let born_now: Vec<(u64, i64)> = instant
        .iter()
        .filter(|event| event.kind == kind::MATING)
        .map(|event| (event.mating, event.seq))
        .collect();
    let leads = leading_sources(instant);
    let class = |event: &Event| match event.kind {
        kind::REGISTER => 0,
        kind::DEMATING if !born_now.iter().any(|(mating, _)| *mating == event.mating) => 1,
        kind::CLEANING | kind::LOOK => 2,
        _ => 3,
    };
    let source_rank = |event: &Event| {
        let led = leads.iter().any(|(source, cleans)| *source == event.source && *cleans);
        (!led, event.source)
    };
    instant.sort_by(|a, b| {
        class(a).cmp(&class(b)).then_with(|| match class(a) {
            2 => source_rank(a).cmp(&source_rank(b)).then_with(|| within_source(a, b)),
            3 => (a.seq, a.source, a.record, a.identity, a.mating, a.kind)
                .cmp(&(b.seq, b.source, b.record, b.identity, b.mating, b.kind)),
            _ => (a.source, a.seq, a.record, a.identity, a.mating)
                .cmp(&(b.source, b.seq, b.record, b.identity, b.mating)),
        })
    });
    debug_assert!(instant.iter().all(|event| event.at == at && event.key == key));
}

/// Inside a source: by seq, cleaning before look, record; content where even that is equal.
fn within_source(a: &Event, b: &Event) -> Ordering {
    (a.seq, a.kind, a.record, a.identity, a.outcome, a.finding, a.zone, a.detail)
        .cmp(&(b.seq, b.kind, b.record, b.identity, b.outcome, b.finding, b.zone, b.detail))
}

/// The sources at one instant, and whether the first record of each is a cleaning.
fn leading_sources(instant: &[Event]) -> Vec<(u16, bool)> {
    let mut firsts: Vec<&Event> = Vec::new();
    let handled = |event: &&Event| matches!(event.kind, kind::CLEANING | kind::LOOK);
    for event in instant.iter().filter(handled) {
        match firsts.iter_mut().find(|first| first.source == event.source) {
            Some(first) if within_source(event, first).is_lt() => *first = event,
            Some(_) => {}
            None => firsts.push(event),
        }
    }
    firsts.iter().map(|first| (first.source, first.kind == kind::CLEANING)).collect()
}

/// Joins the rows of one look at several fibres (R4). Returns none where nothing joins, which is
/// so for every end face without fibre numbers.
///
/// Rows of one source and record are one look; so are rows that this does not join, each with a record
/// of its own or with none, of one source and time with different fibres and no cleaning between.
pub fn join_fibres(face: &[Event]) -> Option<Vec<Event>> {
    if !face.iter().any(|event| event.kind == kind::LOOK && event.detail != 0) {
        return None;
    }
    let mut joined: Vec<Event> = Vec::with_capacity(face.len());
    let shared = shared_records(face);
    let mut by_record: FxHashMap<(u16, u64), usize> = FxHashMap::default();
    let mut run: Run = Run::default();
    for event in face {
        if event.kind != kind::LOOK || event.detail == 0 {
            if event.kind == kind::CLEANING {
                run.fibres.clear();
            }
            joined.push(*event);
        } else if shared.contains(&(event.source, event.identity)) {
            let place = *by_record.entry((event.source, event.identity)).or_insert(joined.len());
            put(&mut joined, place, event);
        } else if run.takes(event) {
            put(&mut joined, run.place, event);
            run.fibres.push(event.detail);
        } else {
            run = Run {
                source: event.source,
                at: event.at,
                place: joined.len(),
                fibres: vec![event.detail],
            };
            joined.push(*event);
        }
    }
    Some(joined)
}

/// Source and identity of the records that several rows of an end face have: an export may as well
/// give every fibre a record of its own, and such a record joins nothing.
fn shared_records(face: &[Event]) -> FxHashSet<(u16, u64)> {
    let mut met = FxHashSet::default();
    let recorded =
        |event: &&Event| event.kind == kind::LOOK && event.detail != 0 && event.record != [0, 0];
    let records = face.iter().filter(recorded).map(|event| (event.source, event.identity));
    records.filter(|record| !met.insert(*record)).collect()
}

/// Rows that no record joins and that may be one look.
#[derive(Default)]
struct Run {
    source: u16,
    at: i64,
    place: usize,
    fibres: Vec<u32>,
}

impl Run {
    fn takes(&self, event: &Event) -> bool {
        !self.fibres.is_empty()
            && (self.source, self.at) == (event.source, event.at)
            && !self.fibres.contains(&event.detail)
    }
}

fn put(joined: &mut Vec<Event>, place: usize, event: &Event) {
    match joined.get_mut(place) {
        Some(look) => merge(look, event),
        None => joined.push(*event),
    }
}

/// One fibre failing: fail; else one unreadable: unreadable. Finding: defect if any is. Zone: the
/// innermost that failed.
fn merge(look: &mut Event, fibre: &Event) {
    let severity = |event: &Event| match event.outcome() {
        None => 0,
        Some(Outcome::Pass) => 1,
        Some(Outcome::Unreadable) => 2,
        Some(Outcome::Fail) => 3,
    };
    let failing = |event: &Event| event.outcome() == Some(Outcome::Fail);
    if failing(look) && failing(fibre) {
        look.finding = look.finding.max(fibre.finding);
        look.zone = match (look.zone, fibre.zone) {
            (0, zone) | (zone, 0) => zone,
            (a, b) => a.min(b),
        };
    } else if failing(fibre) {
        (look.finding, look.zone) = (fibre.finding, fibre.zone);
    }
    if severity(fibre) > severity(look) {
        look.outcome = fibre.outcome;
    }
    look.flags |= fibre.flags;
    for (known, new) in [(&mut look.family, fibre.family), (&mut look.supplier, fibre.supplier)] {
        if *known == 0 {
            *known = new;
        }
    }
    look.side = if look.side == 0 { fibre.side } else { look.side };
    look.optic = if look.optic == 0 { fibre.optic } else { look.optic };
    if look.work_order == 0 {
        look.work_order = fibre.work_order;
    }
}
