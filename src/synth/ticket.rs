//! Tickets of the invented faults: what the desk knew, which is not always what was.

use super::draw::Draw;
use super::event::{Class, Minute, Ticket};
use super::link::Link;
use super::plant::*;
use super::world::World;

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
    let downtime = (draw.wait() * 70.0) as i64 + 15;
    let labour = draw.between(40, 260);
    let visits = [1, 1, 1, 2][draw.index(4)];
    let known = draw.chance(0.4);
    let cost = downtime * 750 + labour * 130 + visits * 12_000 + draw.between(0, 9_999);
    Ticket {
        opened: trouble.opened,
        cleared: Some(trouble.cleared),
        site,
        mating: trouble.mating.filter(|_| by_mating),
        face: Some(trouble.link.ends()[draw.index(2)]).filter(|_| !by_mating || draw.chance(0.3)),
        class: trouble.class,
        cause,
        remedy,
        stage: MAINTENANCE,
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
