//! A connection in service: faults, repairs, maintenance, until the window closes.

use super::draw::Draw;
use super::event::{Class, Minute};
use super::lead::test_port;
use super::link::{Joined, Link, join, join_now};
use super::plant::*;
use super::tally::Stratum;
use super::ticket::{Trouble, write_linked, write_other};
use super::visit::{Ending, Reason};
use super::world::World;

/// Lives a connection from its first mating to the end of the window.
pub fn serve(world: &mut World, draw: &mut Draw, mut link: Link, mut joined: Joined) {
    let (close, life) = (world.window.lived.1, world.life);
    let mut test = life.accepted.filter(|_| draw.chance(ACCEPTED)).map(|stage| {
        let day = joined.at + draw.between(2, 20) * DAY;
        (stage, world.work_time(day, draw))
    });
    while joined.at < close {
        let rates = linked_rates(world, &link, &joined);
        let tested = test.take();
        let planned = match tested {
            Some((_, at)) => at,
            None => {
                let gap = 10.0 + MAINTENANCE_GAP * draw.wait();
                world.work_time(joined.at + (gap * DAY as f64) as Minute, draw)
            }
        };
        // Faults need a mating in the records: what nobody wrote down has none.
        let (linked, broken) = match joined.mating {
            Some(_) => (
                linked_at(world, &link, joined.at, rates.of_this, draw),
                other_at(world, &link, joined.at, OTHER_CAUSES[0].1, draw),
            ),
            None => (close, close),
        };
        let linked = joined.fails.map_or(linked, |at| linked.min(at));
        let end = planned.min(linked).min(broken).min(close);
        if !joined.after_fault && joined.mating.is_some() {
            let stratum = Stratum { site: link.home, stage: joined.stage, family: link.family };
            world.tally.follow(stratum, joined.class, joined.at, end, rates.planned);
            let place = (link.home, joined.stage);
            let parted = planned.min(broken);
            world.spare_faults(place, (joined.at, parted), (rates.planned, rates.after_looks));
        }
        quiet_troubles(world, draw, &link, &joined, end);
        if end >= close {
            return;
        }
        joined = if end == planned {
            match tested {
                Some((stage, _)) => accept(world, draw, &mut link, joined, (stage, planned)),
                None => maintain(world, draw, &mut link, joined, planned),
            }
        } else {
            repair(world, draw, &mut link, joined, (end, end == linked))
        };
    }
}

/// Linked faults per connection-month in a band with factor 1.
struct Rates {
    /// Of matings like this one in the mean.
    planned: f64,
    /// Of this one, as dusty as it is: what skipping a look adds is in proportion to the dust.
    of_this: f64,
    /// Of one like this with both ends seen.
    after_looks: f64,
}

fn linked_rates(world: &World, link: &Link, joined: &Joined) -> Rates {
    let (life, planted) = (world.life, world.departures.ratio);
    let ratio = class_ratio(life, joined.class, (link.home, joined.stage, link.family), planted);
    let skipped = matches!(joined.class, Class::One | Class::None);
    let dusty = if skipped { 1.0 + (ratio - 1.0) * joined.dust } else { ratio };
    let after = if joined.after_fault { AFTER_FAULT } else { 1.0 };
    let (_, often) = world.fault_factors(link.home);
    let base = life.stages[joined.stage].linked * FAMILY_FAULTS[link.family] * often;
    let rate = |ratio: f64| base * ratio.max(0.0) * after;
    Rates { planned: rate(ratio), of_this: rate(dusty), after_looks: rate(1.0) }
}

/// When the linked fault of a mating comes: piecewise constant hazard, inverted.
fn linked_at(world: &World, link: &Link, at: Minute, rate: f64, draw: &mut Draw) -> Minute {
    let left = draw.wait() / rate.max(1e-9) * MONTH / DAY as f64;
    if world.luck.has_faults() {
        let window = (at, world.window.lived.1);
        return world.luck.wait(link.home, window, left, &BANDS).max(at + 60);
    }
    at + linked_wait(left)
}

/// When a fault of another cause comes, whose rate per connection-month is the same at any time but for luck.
fn other_at(world: &World, link: &Link, at: Minute, rate: f64, draw: &mut Draw) -> Minute {
    let (often, _) = world.fault_factors(link.home);
    let minutes = draw.wait() / (rate * often) * MONTH;
    if world.luck.has_faults() {
        let window = (at, world.window.lived.1);
        return world.luck.wait(link.home, window, minutes / DAY as f64, &[(f64::INFINITY, 1.0)]);
    }
    at + minutes as Minute
}

/// Minutes to a linked fault that is so many days away at factor 1.
fn linked_wait(mut left: f64) -> Minute {
    let mut from = 0.0;
    for (to, factor) in BANDS {
        let held = (to - from) * factor;
        if left < held {
            return (((from + left / factor) * DAY as f64) as Minute).max(60);
        }
        left -= held;
        from = to;
    }
    Minute::MAX / 4
}

/// Faults that are put right without parting the connection.
fn quiet_troubles(world: &mut World, draw: &mut Draw, link: &Link, joined: &Joined, end: Minute) {
    for (cause, rate) in &OTHER_CAUSES[1..] {
        let opened = other_at(world, link, joined.at, *rate, draw);
        if opened < end - DAY {
            let remedy = match *cause {
                "no-fault-found" => ["none", "none", "reseated", "cleaned"][draw.index(4)],
                "equipment" | "end-face-defect" => "replaced",
                _ => "none",
            };
            let cleared = opened + draw.between(60, 1200);
            let order = world.new_order();
            let (mating, class) = (joined.mating, joined.class);
            let trouble = Trouble { order, link: *link, mating, class, opened, cleared };
            write_other(world, draw, trouble, cause, remedy);
        }
    }
}

/// The test where the connection stays: part, test the port with a lead, look, join again.
fn accept(
    world: &mut World,
    draw: &mut Draw,
    link: &mut Link,
    joined: Joined,
    (stage, at): (usize, Minute),
) -> Joined {
    let order = world.new_order();
    world.part(joined.mating, link.ends(), at, draw);
    let (ending, after) = test_port(world, draw, link.port, (stage, at + 4, order));
    if ending == Some(Ending::Rejected) {
        link.port = world.renew(link.port, after);
    }
    join(world, draw, link, (stage, after + 5, order), Reason::Routine)
}

/// Planned work: part, look as the site is used to, join again.
fn maintain(
    world: &mut World,
    draw: &mut Draw,
    link: &mut Link,
    joined: Joined,
    at: Minute,
) -> Joined {
    let (order, stage) = (world.new_order(), world.life.changed);
    world.part(joined.mating, link.ends(), at, draw);
    if draw.chance(0.08) {
        return join_now(world, draw, link, (stage, at + 4, order));
    }
    if draw.chance(0.15) {
        link.plug = world.renew(link.plug, at);
    }
    join(world, draw, link, (stage, at + 5, order), Reason::Routine)
}

/// A fault that parts the connection: ticket, repair, joined again.
fn repair(
    world: &mut World,
    draw: &mut Draw,
    link: &mut Link,
    joined: Joined,
    (failed, linked): (Minute, bool),
) -> Joined {
    let by_day = world.places[link.home].by_day();
    let wait = if by_day { DAY } else { draw.between(90, 2400) };
    let at = world.work_time(failed + wait, draw);
    let order = world.new_order();
    for face in link.ends() {
        world.faces[face].last_fault = Some(failed);
    }
    let before = *link;
    world.part(joined.mating, link.ends(), at, draw);
    if !linked || draw.chance(0.1) {
        link.plug = world.renew(link.plug, at);
        world.faces[link.plug].last_fault = Some(failed);
    }
    let dirt = if linked { 0.8 } else { 0.15 };
    let stage = world.life.repaired;
    let again = join(world, draw, link, (stage, at + 5, order), Reason::Fault(dirt));
    let trouble = Trouble {
        order,
        link: before,
        mating: joined.mating,
        class: joined.class,
        opened: failed,
        cleared: again.at + 10,
    };
    if linked {
        write_linked(world, draw, trouble, link);
    } else {
        write_other(world, draw, trouble, OTHER_CAUSES[0].0, "replaced");
    }
    let after_fault = again.after_fault || world.after_fault(link.ends(), again.at);
    let bad = world.departures.bad_repairs.filter(|_| linked);
    let fails = bad.filter(|share| world.apart.chance(*share)).map(|_| {
        let wait = world.apart.wait() * DAY as f64;
        again.at + (wait as Minute).max(60)
    });
    Joined { after_fault, fails, ..again }
}
