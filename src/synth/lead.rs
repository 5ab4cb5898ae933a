//! Test leads: each touches many ports, one after the other, and some carry dirt along.

use super::draw::Draw;
use super::event::{Mating, Minute, Spelled};
use super::face::{Side, State};
use super::lifecycle::Lifecycle;
use super::plant::*;
use super::visit::{Call, Ending, Reason, visit};
use super::world::{Traits, World};

/// Adds the leads of the works: [`LEADS_EACH`] of every family.
pub fn add_leads(world: &mut World) {
    for family in 0..FAMILIES.len() {
        for number in 0..LEADS_EACH {
            let name = name(&world.places[world.works].code, (family, number));
            let traits = Traits { family, optic: 0, supplier: 0 };
            let face = world.add_face(name, world.works, Side::Plug, traits);
            world.leads.faces.push(face);
        }
    }
}

/// Name of a lead at a site with this code, by its family and number from 0.
pub fn name(code: &str, (family, number): (usize, usize)) -> String {
    format!("TL-{code}-{}-{}", FAMILIES[family], number + 1)
}

/// Name of a lead by its number among those of its works.
pub fn name_of(code: &str, lead: usize) -> String {
    name(code, (lead / LEADS_EACH, lead % LEADS_EACH))
}

/// Whether a fleet's leads of this family and number carry dirt.
pub fn is_carrier(life: &Lifecycle, lead: (usize, usize)) -> bool {
    life.culprits.carriers.contains(&lead)
}

/// Tests a port with a lead: look at the lead (mostly), join, part, look at the port again (mostly).
/// A lead that cannot be cleaned is set aside and polished, and the test left out. Returns how the
/// port was left, where it was looked at again, and the first minute after.
pub fn test_port(
    world: &mut World,
    draw: &mut Draw,
    port: usize,
    (stage, at, order): (usize, Minute, u32),
) -> (Option<Ending>, Minute) {
    let family = world.faces[port].family;
    let number = draw.index(LEADS_EACH);
    let which = family * LEADS_EACH + number;
    let lead = world.leads.faces[which];
    let mut clock = world.leads.take(which, at);
    if draw.chance(0.7) {
        let (ending, after) = visit(world, draw, test_visit(world, lead, (stage, clock, order)));
        clock = after;
        if matches!(ending, Ending::Rejected | Ending::Failing) {
            world.faces[lead].state = State::Clean;
            return (None, clock);
        }
    }
    clock = touch(world, draw, [lead, port], (stage, clock + 3, order));
    let carrier = is_carrier(world.life, (family, number));
    let dirt: f64 = if carrier { CARRIER_DIRT } else { LEAD_DIRT };
    let sealed = world.faces[port].sealed();
    world.faces[port].touched_by = Some(which).filter(|_| carrier && !sealed);
    world.faces[port].touch = if sealed { 0.0 } else { -(1.0 - dirt).ln() };
    if !draw.chance(0.8) {
        return (None, clock + 3);
    }
    let (ending, clock) = visit(world, draw, test_visit(world, port, (stage, clock + 3, order)));
    (Some(ending), clock)
}

fn test_visit(world: &World, face: usize, (stage, at, order): (usize, Minute, u32)) -> Call {
    Call { face, site: world.works, stage, at, order, reason: Reason::Again }
}

/// Joins a lead and a port for a few minutes; returns when they are parted.
fn touch(
    world: &mut World,
    draw: &mut Draw,
    ends: [usize; 2],
    (stage, at, order): (usize, Minute, u32),
) -> Minute {
    let [plug, port] = ends;
    let class = world.class(ends, world.works, at);
    world.spare_mating(ends, (world.works, stage), (at, class, false));
    let mating = world.write_mating(Mating {
        at,
        plug,
        port,
        site: world.works,
        stage,
        demated: None,
        port_named: true,
        spelled: Spelled::AsSeen,
        person: draw.between(0, 3) as u8,
        order,
        number: 0,
    });
    world.tally.mating(class, mating.is_some(), at);
    let parted = at + draw.between(4, 9);
    world.part(mating, ends, parted, draw);
    parted
}
