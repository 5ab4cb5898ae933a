//! Departures that change what was written down: the journal of a batch of sites between its lives and its exports.
//!
//! What happened is over, so no draw here moves it. Tickets name matings by their position in the journal: drop no mating
//! here, mark it.

use super::event::{Look, Minute};
use super::plant::DAY;
use super::world::World;

/// Changes the journal as the recipe's departures say.
pub fn spoil(world: &mut World) {
    if let Some(share) = world.departures.lost {
        let World { tickets, apart, .. } = world;
        tickets.retain(|_| !apart.chance(share));
    }
    if let Some(share) = world.departures.names {
        let site = 1.min(world.places.len() - 1);
        let World { matings, apart, .. } = world;
        for mating in matings.iter_mut().filter(|mating| mating.site == site) {
            mating.respelled = apart.chance(share);
        }
    }
    if let Some(share) = world.departures.invented {
        invent_looks(world, share);
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
