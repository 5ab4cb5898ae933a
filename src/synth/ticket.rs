//! Tickets of the invented faults: what the desk knew, which is not always what was.

use super::draw::Draw;
use super::event::{Class, Minute, Ticket, Unread};
use super::link::Link;
use super::plant::*;
use super::purchases::Costs;
use super::world::World;

/// Minutes that service is out beyond the least, in the mean of an exponential, and the least.
const DOWNTIME: f64 = 70.0;
const LEAST_DOWNTIME: i64 = 15;
/// Least and most minutes of work.
const LABOUR: (i64, i64) = (40, 260);
/// Trips, each as likely.
const TRIPS: [i64; 4] = [1, 1, 1, 2];
/// Share of the tickets that know their cost, and what that is beyond its parts at most, minor units.
const COST_KNOWN: f64 = 0.4;
const BESIDES: i64 = 9_999;
/// Share of the troubles that last long enough for a second ticket: all but those mended within 200 minutes.
const LONG_ENOUGH: f64 = 0.98;

/// What the tickets of one linked fault cost in expectation, in units of the currency, second tickets with them, whose parts
/// count as well.
pub fn expected_cost(costs: &Costs) -> f64 {
    // Whole minutes of an exponential.
    let downtime = 1.0 / (1.0 / DOWNTIME).exp_m1() + LEAST_DOWNTIME as f64;
    let labour = (LABOUR.0 + LABOUR.1) as f64 / 2.0;
    let trips = TRIPS.iter().sum::<i64>() as f64 / TRIPS.len() as f64;
    let hours = (downtime * costs.downtime_hour + labour * costs.labour_hour) / 60.0;
    let parts = hours + trips * costs.visit;
    let second = SECOND_TICKET * (1.0 - LAGGED) * LONG_ENOUGH;
    parts * (1.0 + second) + COST_KNOWN * BESIDES as f64 / 2.0 / 100.0
}

/// A fault on one mating.
#[derive(Clone, Copy, Debug)]
pub struct Trouble {
    /// The connection as it was when the fault came.
    pub link: Link,
    /// The mating, where it was written down.
    pub mating: Option<usize>,
    /// Coverage of the mating as it truly was.
    pub class: Class,
    pub opened: Minute,
    pub cleared: Minute,
    /// Work order of the repair.
    pub order: u32,
}

/// Writes the ticket of a fault that dirt caused; `after` is the connection after the repair.
pub fn write_linked(world: &mut World, draw: &mut Draw, trouble: Trouble, after: &Link) {
    let confirmed = draw.chance(CONFIRMED);
    let (cause, remedy) = match (confirmed, draw.chance(0.2)) {
        (true, true) => ("contamination", "replaced"),
        (true, false) => ("contamination", "cleaned"),
        (false, true) => ("", "cleaned"),
        (false, false) => ("unknown", "cleaned"),
    };
    let site = trouble.link.home;
    let place = &world.places[site];
    let lagged = draw.chance(LAGGED)
        && !place.by_day()
        && !world.place_named(site)
        && after.port == trouble.link.port;
    let mut ticket = draw_ticket(world, draw, &trouble, cause, remedy);
    if lagged {
        let joined = trouble.cleared - 10;
        ticket.opened = joined + draw.between(1, 600);
        ticket.cleared = Some(ticket.opened + draw.between(10, 120));
        ticket.mating = None;
        ticket.face = Some(trouble.link.port);
    }
    let second = draw.chance(SECOND_TICKET) && !lagged && trouble.cleared - trouble.opened > 200;
    let opened = ticket.opened;
    if !write(world, draw, ticket.clone(), trouble.mating.is_some()) {
        return;
    }
    world.tally.linked(confirmed, opened);
    if lagged {
        world.tally.lagged(opened);
    }
    if second {
        let later = Ticket { opened: opened + draw.between(20, 180), cost: None, ..ticket };
        write(world, draw, later, true);
    }
}

/// Writes the ticket of a fault that has nothing to do with dirt.
pub fn write_other(
    world: &mut World,
    draw: &mut Draw,
    trouble: Trouble,
    cause: &'static str,
    remedy: &'static str,
) {
    for face in trouble.link.ends() {
        let last = world.faces[face].last_fault.max(Some(trouble.opened));
        world.faces[face].last_fault = last;
    }
    let ticket = draw_ticket(world, draw, &trouble, cause, remedy);
    if write(world, draw, ticket, trouble.mating.is_some()) {
        world.tally.other(cause, trouble.opened);
    }
}

fn draw_ticket(
    world: &World,
    draw: &mut Draw,
    trouble: &Trouble,
    cause: &'static str,
    remedy: &'static str,
) -> Ticket {
    let site = trouble.link.home;
    let by_mating = world.place_named(site) || draw.chance(0.75);
    let downtime = (draw.wait() * DOWNTIME) as i64 + LEAST_DOWNTIME;
    let labour = draw.between(LABOUR.0, LABOUR.1);
    let visits = TRIPS[draw.index(4)];
    let known = draw.chance(COST_KNOWN);
    let cost = downtime * 750 + labour * 130 + visits * 12_000 + draw.between(0, BESIDES);
    Ticket {
        unread: Unread::default(),
        opened: trouble.opened,
        cleared: Some(trouble.cleared),
        site,
        mating: trouble.mating.filter(|_| by_mating),
        face: Some(trouble.link.ends()[draw.index(2)]).filter(|_| !by_mating || draw.chance(0.3)),
        class: trouble.class,
        cause,
        remedy,
        stage: world.life.repaired,
        order: trouble.order,
        downtime: Some(downtime),
        labour: Some(labour),
        visits: Some(visits),
        cost: known.then_some(cost),
        services: draw.between(1, 4),
        number: 0,
    }
}

/// Writes a ticket down; one on a mating that nobody wrote down is mostly lost with it.
fn write(world: &mut World, draw: &mut Draw, mut ticket: Ticket, mating_written: bool) -> bool {
    if !world.recorded(ticket.opened) || !(mating_written || draw.chance(0.1)) {
        return false;
    }
    if ticket.mating.is_none() && ticket.face.is_none() {
        return false;
    }
    ticket.cleared = ticket.cleared.filter(|&cleared| world.recorded(cleared));
    world.tickets.push(ticket);
    true
}
