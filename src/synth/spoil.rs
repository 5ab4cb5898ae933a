//! Departures that change what was written down: the journal of a batch of sites between its lives and its exports.
//!
//! What happened is over, so no draw here moves it. Tickets name matings by their position in the journal: drop no mating
//! here, mark it.

use std::collections::BTreeSet;

use super::event::Class;
use super::habit::left_out;
use super::world::World;

/// Changes the journal as the recipe's departures say.
pub fn spoil(world: &mut World) {
    if let Some(share) = world.departures.lost {
        let World { tickets, apart, .. } = world;
        tickets.retain(|_| !apart.chance(share));
    }
    if let Some(share) = world.departures.tickets_lost {
        let World { tickets, apart, .. } = world;
        tickets.retain(|ticket| ticket.class != Class::Both || !apart.chance(share));
    }
    if let Some(mean) = world.departures.passing_unrecorded {
        leave_passing_out(world, mean);
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
