//! What is left to chance in a visit, and to the luck of those who make it.

use super::luck::Matter;
use super::plant::*;
use super::visit::{Reason, Run};

impl Run<'_, '_, '_> {
    /// Whether dirt has come in: with the luck of the visit, but for a fault, which shares none.
    pub(super) fn comes_in(&mut self, dirt: f64) -> bool {
        match self.call.reason {
            Reason::Fault(_) => self.draw.chance(dirt),
            _ => self.world.luck.chance(Matter::Dirt, self.unit, dirt, self.draw),
        }
    }

    /// Probability that dirt has come in, given luck that lasts longer than a work order.
    pub(super) fn expected_dirt(&self, dirt: f64) -> f64 {
        match self.call.reason {
            Reason::Fault(_) => dirt,
            _ => self.world.luck.expected(Matter::Dirt, self.unit, dirt),
        }
    }

    /// Whether a clean end face is called contaminated.
    pub(super) fn false_alarm(&mut self) -> bool {
        let (_, factor) = self.world.dirt_factors(self.call.site);
        self.draw.chance(FALSE_ALARM * factor)
    }

    /// Whether a cycle cleans a dirty end face.
    pub(super) fn passes(&mut self, cycle: u32) -> bool {
        let p = pass_hazard(self.method, cycle, self.worn());
        let expected = self.world.luck.expected(Matter::Cleaning, self.unit, p);
        if self.world.recorded(self.call.at) {
            self.world.tally.cycle(self.method, cycle, p, self.call.at);
        }
        if cycle == 1 && self.world.recorded(self.call.at) {
            let stuck = self.world.departures.stays_dirty.unwrap_or(0.0);
            self.world.tally.first_cycle(self.method, expected * (1.0 - stuck), self.call.at);
        }
        self.world.luck.chance(Matter::Cleaning, self.unit, p, self.draw) && !self.stuck
    }

    /// Whether the last cleaning was made with the worn tool.
    pub(super) fn worn(&self) -> bool {
        let (site, method, tool) = self.world.life.culprits.worn_tool;
        self.call.site == site
            && self.applied.is_some_and(|a| a.method == method && usize::from(a.tool) == tool)
    }
}
