//! The life of one connection: its two end faces from the works to the place where they are joined.

use super::draw::Draw;
use super::event::{Class, Mating, Minute, Spelled};
use super::face::Side;
use super::habit::{self, Approach};
use super::lead::test_port;
use super::plant::*;
use super::visit::{Call, Ending, Reason, visit};
use super::world::{Traits, World};

/// The two end faces that belong together, and where.
#[derive(Clone, Copy, Debug)]
pub struct Link {
    pub home: usize,
    pub plug: usize,
    pub port: usize,
    pub family: usize,
}

impl Link {
    /// Both end faces.
    pub fn ends(&self) -> [usize; 2] {
        [self.plug, self.port]
    }
}

/// A mating in force.
#[derive(Clone, Copy, Debug)]
pub struct Joined {
    pub at: Minute,
    pub class: Class,
    pub stage: usize,
    pub after_fault: bool,
    /// Factor on what skipping a look does to the rate.
    pub dust: f64,
    /// Position in the journal, where written down.
    pub mating: Option<usize>,
    /// The repair left dirt: it fails again then.
    pub fails: Option<Minute>,
}

pub(super) fn add_link(world: &mut World, draw: &mut Draw, home: usize, number: usize) -> Link {
    let family = draw.weighted(&FAMILY_SHARES);
    let supplier = draw.index(SUPPLIERS.len());
    let place = &world.places[home];
    let (rack, slot) = (number / 48 + 1, number % 48 + 1);
    let (plug_name, port_name) = if world.place_named(home) {
        (format!("ODF-{rack:02}/{slot}"), format!("ODF-{rack:02}/{slot}"))
    } else {
        (format!("{}-C{number:05}", place.code), format!("{}-R{rack:02}-{slot:02}", place.code))
    };
    let traits = Traits { family, optic: 0, supplier };
    let plug = world.add_face(plug_name, home, Side::Plug, traits);
    let optic =
        if family <= 1 { draw.weighted(&OPTIC_SHARES) } else { [0, 0, 0, 3][draw.index(4)] };
    let supplier = draw.index(SUPPLIERS.len());
    let port = world.add_face(port_name, home, Side::Bulkhead, Traits { family, optic, supplier });
    Link { home, plug, port, family }
}

/// Two rounds and, where the works have one, the test bench; returns when they are done.
pub(super) fn make(world: &mut World, draw: &mut Draw, link: &mut Link, begin: Minute) -> Minute {
    let (site, life) = (world.works, world.life);
    let mut at = world.work_time(begin, draw);
    inspect_both(world, draw, link, (site, life.made[0], at, 0.6));
    at = world.work_time(at + draw.between(1, 10) * DAY, draw);
    let clock = inspect_both(world, draw, link, (site, life.made[1], at, 0.6));
    let next = world.work_time(at + draw.between(2, 20) * DAY, draw);
    if draw.chance(0.25) {
        join_for_assembly(world, draw, link, clock + 3, next - 5);
    }
    let Some(bench) = life.bench else {
        return next;
    };
    let clock = inspect_both(world, draw, link, (site, bench, next, 0.7));
    if draw.chance(0.75) {
        let order = world.batch_order(site, bench, next, 2);
        let (ending, after) = test_port(world, draw, link.port, (bench, clock, order));
        if ending == Some(Ending::Rejected) {
            link.port = world.renew(link.port, after);
        }
        return after;
    }
    clock
}

/// Joins the two end faces in an assembly without light.
fn join_for_assembly(world: &mut World, draw: &mut Draw, link: &Link, at: Minute, until: Minute) {
    let (site, stage) = (world.works, world.life.made[1]);
    let class = world.class(link.ends(), site, at);
    let mating = Mating {
        at,
        plug: link.plug,
        port: link.port,
        site,
        stage,
        demated: None,
        port_named: true,
        spelled: Spelled::AsSeen,
        person: draw.between(0, 3) as u8,
        order: world.batch_order(site, stage, at, 0),
        number: 0,
    };
    let mating = world.write_mating(mating);
    world.tally.mating(class, mating.is_some(), at);
    world.part(mating, link.ends(), until, draw);
}

/// Goods in at the home site; returns the earliest time of installation.
pub(super) fn receive(world: &mut World, draw: &mut Draw, link: &mut Link, made: Minute) -> Minute {
    let at = world.work_time(made + draw.between(4, 35) * DAY, draw);
    let stage = world.life.received;
    inspect_both(world, draw, link, (link.home, stage, at, 0.75));
    at + draw.between(4, 50) * DAY
}

/// Visits both end faces, each with the probability given; rejected ones are replaced. Returns the
/// first minute after the visits.
fn inspect_both(
    world: &mut World,
    draw: &mut Draw,
    link: &mut Link,
    (site, stage, at, share): (usize, usize, Minute, f64),
) -> Minute {
    let order = world.batch_order(site, stage, at, draw.between(0, 1));
    let mut clock = at;
    for end in [0, 1] {
        if !draw.chance(share) {
            continue;
        }
        let face = link.ends()[end];
        let call = Call { face, site, stage, at: clock, order, reason: Reason::Routine };
        let (ending, after) = visit(world, draw, call);
        clock = after;
        if ending == Ending::Rejected {
            replace(world, link, end, after);
        }
    }
    clock
}

fn replace(world: &mut World, link: &mut Link, end: usize, at: Minute) {
    let renewed = world.renew(link.ends()[end], at);
    if end == 0 {
        link.plug = renewed;
    } else {
        link.port = renewed;
    }
}

/// Looks at the end faces as the site is used to, and joins them.
pub fn join(
    world: &mut World,
    draw: &mut Draw,
    link: &mut Link,
    (stage, at, order): (usize, Minute, u32),
    reason: Reason,
) -> Joined {
    let mut skip = skip_probability(world.life, &world.places[link.home], stage, link.family);
    let mut dust = 1.0;
    if reason == Reason::Routine {
        Approach { dust, skip } = habit::approach(world, link.home, at, skip);
    } else {
        skip *= 0.5;
    }
    let looked = match (draw.chance(skip), draw.chance(0.55), draw.chance(0.5)) {
        (false, _, _) => [true, true],
        (true, true, first) => [first, !first],
        (true, false, _) => [false, false],
    };
    let mut clock = at;
    world.dust = dust;
    for end in [0, 1] {
        if looked[end] {
            clock = prepare(world, draw, link, (end, stage, clock, order), reason);
        }
    }
    world.dust = 1.0;
    clock += draw.between(2, 20);
    Joined { dust, ..join_now(world, draw, link, (stage, clock, order)) }
}

/// Visits one end face before it is joined; what cannot be cleaned is mostly replaced.
fn prepare(
    world: &mut World,
    draw: &mut Draw,
    link: &mut Link,
    (end, stage, at, order): (usize, usize, Minute, u32),
    reason: Reason,
) -> Minute {
    let mut clock = at;
    for _ in 0..3 {
        let face = link.ends()[end];
        let call = Call { face, site: link.home, stage, at: clock, order, reason };
        let (ending, after) = visit(world, draw, call);
        clock = after;
        let sealed = world.faces[face].sealed();
        let replaced = match ending {
            Ending::Rejected => true,
            Ending::Failing => !sealed && !draw.chance(0.4),
            Ending::Passed | Ending::Unverified => false,
        };
        if !replaced {
            break;
        }
        replace(world, link, end, clock);
        clock += 4;
    }
    clock
}

/// Joins the two end faces as they are.
pub fn join_now(
    world: &mut World,
    draw: &mut Draw,
    link: &Link,
    (stage, at, order): (usize, Minute, u32),
) -> Joined {
    let class = world.class(link.ends(), link.home, at);
    let after_fault = world.after_fault(link.ends(), at);
    world.spare_mating(link.ends(), (link.home, stage), (at, class, after_fault));
    let mating = world.write_mating(Mating {
        at,
        plug: link.plug,
        port: link.port,
        site: link.home,
        stage,
        demated: None,
        port_named: !draw.chance(0.003),
        spelled: Spelled::AsSeen,
        person: draw.between(0, 3) as u8,
        order,
        number: 0,
    });
    world.tally.mating(class, mating.is_some(), at);
    for face in link.ends() {
        world.faces[face].last_look = None;
        world.faces[face].received = false;
    }
    Joined { at, class, stage, after_fault, dust: 1.0, mating, fails: None }
}
