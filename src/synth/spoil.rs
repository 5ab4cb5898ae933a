//! Departures that change what was written down: the journal of a batch of sites between its lives and its exports.
//!
//! What happened is over, so no draw here moves it. Tickets name matings by their position in the journal: drop no mating
//! here, mark it.

use std::collections::{BTreeMap, BTreeSet};

use super::draw::Draw;
use super::event::{Class, Look, Minute, Spelled, Unread};
use super::habit::left_out;
use super::plant::DAY;
use super::world::World;

/// From a repair to the stamp of a late ticket: the shortest and the longest, minutes.
const LATE: (Minute, Minute) = (20, 36 * 60);

/// The site whose matings are named in two ways.
pub const SECOND: usize = 1;

/// Changes the journal as the recipe's departures say.
pub fn spoil(world: &mut World) {
    if let Some(share) = world.departures.lost {
        let World { tickets, apart, .. } = world;
        tickets.retain(|_| !apart.chance(share));
    }
    if let Some(share) = world.departures.names {
        respell(world, share, Spelled::Otherwise);
    }
    if let Some(share) = world.departures.small_letters {
        respell(world, share, Spelled::Small);
    }
    if let Some(share) = world.departures.attention {
        follow_faults(world, share);
    }
    if let Some(share) = world.departures.causes_wrong {
        mistake_causes(world, share);
    }
    if let Some(share) = world.departures.invented {
        invent_looks(world, share);
    }
    if let Some(share) = world.departures.tickets_lost {
        let World { tickets, apart, .. } = world;
        tickets.retain(|ticket| ticket.class != Class::Both || !apart.chance(share));
    }
    if let Some(mean) = world.departures.passing_unrecorded {
        leave_passing_out(world, mean);
    }
    if let Some(share) = world.departures.by_port {
        name_ports(world, share);
    }
    if let Some(share) = world.departures.late {
        stamp_late(world, share, |draw| draw.between(LATE.0, LATE.1));
    }
    if let Some(share) = world.departures.late_log {
        let (shortest, longest) = (LATE.0 as f64, LATE.1 as f64);
        let log = |draw: &mut Draw| (shortest * (longest / shortest).powf(draw.unit())) as Minute;
        stamp_late(world, share, log);
    }
    if let Some(share) = world.departures.unpriced {
        let World { tickets, apart, .. } = world;
        for ticket in tickets.iter_mut().filter(|_| apart.chance(share)) {
            (ticket.downtime, ticket.labour, ticket.visits) = (None, None, None);
            ticket.cost = None;
        }
    }
    let departures = world.departures;
    let World { tickets, apart, .. } = world;
    for ticket in tickets.iter_mut() {
        let mut is_unread = |share: Option<f64>| share.is_some_and(|share| apart.chance(share));
        ticket.unread = Unread {
            opened: is_unread(departures.opened_in_words),
            downtime: is_unread(departures.downtime_as_clock),
            cause: is_unread(departures.unknown_cause),
        };
    }
}

/// Spells the end faces of a share of the second site's matings in another way.
fn respell(world: &mut World, share: f64, spelled: Spelled) {
    let site = SECOND.min(world.places.len() - 1);
    let World { matings, apart, .. } = world;
    for mating in matings.iter_mut().filter(|mating| mating.site == site) {
        if apart.chance(share) {
            mating.spelled = spelled;
        }
    }
}

/// Leaves a share of the tickets out where their site had no other in the week before.
fn follow_faults(world: &mut World, share: f64) {
    let World { tickets, apart, .. } = world;
    let mut opened: Vec<(usize, Minute)> =
        tickets.iter().map(|ticket| (ticket.site, ticket.opened)).collect();
    opened.sort_unstable();
    tickets.retain(|ticket| {
        let from = opened.partition_point(|at| *at < (ticket.site, ticket.opened - 7 * DAY));
        let is_followed = opened[from] < (ticket.site, ticket.opened);
        is_followed || !apart.chance(share)
    });
}

/// Gives a share of the tickets the cause of another.
fn mistake_causes(world: &mut World, share: f64) {
    let World { tickets, apart, .. } = world;
    let causes: Vec<&'static str> = tickets.iter().map(|ticket| ticket.cause).collect();
    for ticket in tickets.iter_mut() {
        if apart.chance(share) {
            ticket.cause = causes[apart.index(causes.len())];
        }
    }
}

/// Writes passing looks down, a minute before matings of the last site, at ends that nobody had looked at for a day.
fn invent_looks(world: &mut World, share: f64) {
    let site = world.places.len() - 1;
    let mut looked: Vec<(usize, Minute)> =
        world.looks.iter().map(|look| (look.face, look.at)).collect();
    looked.sort_unstable();
    let World { matings, apart, looks, .. } = world;
    for mating in matings.iter().filter(|mating| mating.site == site) {
        for face in [mating.plug, mating.port] {
            let at = mating.at - 1;
            let from = looked.partition_point(|look| *look < (face, at - DAY));
            let is_seen = looked.get(from).is_some_and(|look| *look <= (face, at));
            if !is_seen && apart.chance(share) {
                looks.push(Look {
                    at,
                    face,
                    site,
                    stage: mating.stage,
                    outcome: "pass",
                    finding: "",
                    zone: "",
                    capped: false,
                    person: mating.person,
                    order: mating.order,
                    disposition: "",
                    cleaned: None,
                    fibre: 0,
                    number: 0,
                });
            }
        }
    }
}

/// Leaves passing looks out. The rows of several fibres are one look, which fails if any of them does.
fn leave_passing_out(world: &mut World, mean: f64) {
    let failing = world.looks.iter().filter(|look| look.outcome != "pass");
    let failing: BTreeSet<_> = failing.map(|look| (look.at, look.face)).collect();
    let mut looks = std::mem::take(&mut world.looks);
    let mut before = None;
    looks.retain(|look| {
        let this = (look.at, look.face);
        if failing.contains(&this) {
            return true;
        }
        // Further fibres of one look go as the first did.
        if let Some((at, kept)) = before
            && at == this
        {
            return kept;
        }
        let share = left_out(world, look.site, look.at, mean);
        let kept = !world.apart.chance(share);
        before = Some((this, kept));
        kept
    });
    world.looks = looks;
}

/// A share of the tickets that name a mating names its port in its place.
fn name_ports(world: &mut World, share: f64) {
    let World { tickets, matings, apart, .. } = world;
    for ticket in tickets {
        let Some(mating) = ticket.mating.filter(|_| apart.chance(share)) else { continue };
        (ticket.mating, ticket.face) = (None, Some(matings[mating].port));
    }
}

/// A share of the tickets whose repair was a mating (it has their work order) is stamped after it.
fn stamp_late(world: &mut World, share: f64, delay: impl Fn(&mut Draw) -> Minute) {
    let close = world.window.lived.1;
    let World { tickets, matings, apart, .. } = world;
    let repaired: BTreeMap<u32, Minute> =
        matings.iter().map(|mating| (mating.order, mating.at)).collect();
    let mut stamped = Vec::new();
    tickets.retain_mut(|ticket| {
        let Some(at) = repaired.get(&ticket.order).filter(|_| apart.chance(share)) else {
            return true;
        };
        ticket.opened = at + delay(apart);
        let cleared = ticket.opened + apart.between(10, 120);
        ticket.cleared = Some(cleared).filter(|cleared| *cleared < close);
        stamped.extend(Some(ticket.opened).filter(|opened| *opened < close));
        ticket.opened < close
    });
    stamped.into_iter().for_each(|opened| world.tally.lagged(opened));
}
