//! Departures that change what was written down: the journal of a batch of sites between its lives and its exports.
//!
//! What happened is over, so no draw here moves it. Tickets name matings by their position in the journal: drop no mating
//! here, mark it.

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
}
