//! One proposal: what it saves in a year, draw by draw.

use super::effect::{Planned, Reason};
use super::flows::{FleetFlows, POOLS, Purse, SIGNS, Skipped, pool};
use super::input::{Drawing, Input};
use crate::measures::flag::Flag;
use crate::settings::Proposal;

/// A proposal ready to be valued.
#[derive(Clone, Debug)]
pub struct Case<'a> {
    pub proposal: &'a Proposal,
    effects: Vec<Planned>,
    /// Places that any effect touches, rising.
    pub places: Vec<usize>,
    pub flags: Vec<Flag>,
}

/// What is kept out of the pools in a year.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Saving {
    /// Minor units, less what is spent on looks.
    pub money: f64,
    pub faults: f64,
    pub downtime_min: f64,
}

/// Shares of pools by place, for the places of a case.
pub type Shares = Vec<(usize, Purse)>;

impl<'a> Case<'a> {
    /// Prepares a proposal.
    ///
    /// # Errors
    /// In words, what the fleet has no estimate of.
    pub fn of(
        flows: &FleetFlows,
        proposal: &'a Proposal,
        drawing: &Drawing,
    ) -> Result<Case<'a>, Reason> {
        let numbers = 0..proposal.effects.len();
        let effects: Vec<Vec<Planned>> = numbers
            .map(|number| Planned::of(flows, proposal, number, drawing))
            .collect::<Result<_, Reason>>()?;
        let effects: Vec<Planned> = effects.into_iter().flatten().collect();
        let mut places: Vec<usize> =
            effects.iter().flat_map(|effect| effect.places.iter().copied()).collect();
        places.sort_unstable();
        places.dedup();
        let mut flags: Vec<Flag> =
            effects.iter().flat_map(|effect| effect.flags.iter().copied()).collect();
        flags.sort_unstable();
        flags.dedup();
        Ok(Case { proposal, effects, places, flags })
    }

    /// All uncertain numbers of its own, effect by effect.
    pub fn inputs(&self) -> impl Iterator<Item = &Input> {
        self.effects.iter().flat_map(|effect| &effect.inputs)
    }

    /// Shares with the values that `value` gives for each input by its number.
    pub fn shares(&self, flows: &FleetFlows, value: impl Fn(usize, &Input) -> f64) -> Shares {
        let mut left: Shares = self.places.iter().map(|place| (*place, [1.0; POOLS])).collect();
        let mut number = 0;
        for effect in &self.effects {
            let values: Vec<f64> = effect
                .inputs
                .iter()
                .enumerate()
                .map(|(at, input)| value(number + at, input))
                .collect();
            number += values.len();
            for (place, own) in effect.places.iter().zip(effect.shares(flows, &values)) {
                // Rising, and every effect's places are among them.
                let Ok(at) = left.binary_search_by_key(place, |(place, _)| *place) else {
                    continue;
                };
                for (left, own) in left[at].1.iter_mut().zip(own) {
                    *left *= 1.0 - own;
                }
            }
        }
        left.iter().map(|(place, left)| (*place, left.map(|left| 1.0 - left))).collect()
    }

    /// Shares in one draw.
    pub fn drawn_shares(&self, flows: &FleetFlows, draw: usize) -> Shares {
        self.shares(flows, |_, input| input.draws.get(draw).copied().unwrap_or(input.value))
    }

    /// Shares where every input has its mean.
    pub fn usual_shares(&self, flows: &FleetFlows) -> Shares {
        self.shares(flows, |_, input| input.value)
    }

    /// Means of the shares over the draws.
    pub fn mean_shares(&self, flows: &FleetFlows, draws: u32) -> Shares {
        let often = f64::from(draws.max(1));
        let mut means: Shares = self.places.iter().map(|place| (*place, [0.0; POOLS])).collect();
        for draw in 0..draws as usize {
            for ((_, mean), (_, own)) in means.iter_mut().zip(self.drawn_shares(flows, draw)) {
                for (mean, own) in mean.iter_mut().zip(own) {
                    *mean += own / often;
                }
            }
        }
        means
    }
}

/// What is saved in a year of these shares, with these flows of 5.5.
pub fn saving(flows: &FleetFlows, shares: &Shares, skipped: &[Skipped]) -> Saving {
    let mut saved = Saving::default();
    for (place, shares) in shares {
        let own = skipped.get(*place).copied().unwrap_or_default();
        let purse = purse(flows, *place, &own);
        for at in 0..POOLS {
            saved.money += SIGNS[at] * shares[at] * purse[at];
        }
        let faults = shares[pool::FAULTS] * own.faults;
        saved.faults += faults;
        saved.downtime_min += faults * flows.places[*place].downtime_min;
    }
    saved
}

/// Money by pool of a place.
pub fn purse(flows: &FleetFlows, place: usize, skipped: &Skipped) -> Purse {
    let mut purse = flows.places[place].purse;
    (purse[pool::FAULTS], purse[pool::LOOKS]) = (skipped.associated, skipped.looks);
    purse
}
