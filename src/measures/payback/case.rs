//! One proposal: what it saves in a year, draw by draw.

use super::effect::Planned;
use super::flows::{FleetFlows, Purse, Skipped};
use super::input::{Drawing, Input};
use super::prepare::{Reason, planned};
use crate::measures::flag::Flag;
use crate::settings::Proposal;

/// A proposal ready to be valued.
#[derive(Clone, Debug)]
pub struct Case<'a> {
    /// As the settings have it.
    pub proposal: &'a Proposal,
    effects: Vec<Planned>,
    /// Places that any effect touches, rising.
    pub places: Vec<usize>,
    /// What a reader must know of what it rests on.
    pub flags: Vec<Flag>,
}

/// What is kept out of the pools in a year.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Saving {
    /// Minor units, less what is spent on looks.
    pub money: f64,
    /// First linked faults.
    pub faults: f64,
    /// Minutes.
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
            .map(|number| planned(flows, proposal, number, drawing))
            .collect::<Result<_, Reason>>()?;
        let effects: Vec<Planned> = effects.into_iter().flatten().collect();
        let mut places: Vec<usize> =
            effects.iter().flat_map(|effect| effect.places.iter().copied()).collect();
        places.sort_unstable();
        places.dedup();
        let mut flags: Vec<Flag> =
            effects.iter().flat_map(|effect| effect.flags.iter().copied()).collect();
        flags.extend(flows.short_history.then_some(Flag::ShortHistory));
        flags.sort_unstable();
        flags.dedup();
        Ok(Case { proposal, effects, places, flags })
    }

    /// All uncertain numbers of its effects.
    pub fn inputs(&self) -> impl Iterator<Item = &Input> {
        self.effects.iter().flat_map(|effect| effect.change.inputs())
    }

    /// Shares with the values that `value` gives its uncertain numbers.
    pub fn shares(&self, flows: &FleetFlows, value: impl Fn(&Input) -> f64) -> Shares {
        let mut left: Shares = self.places.iter().map(|place| (*place, Purse::ONES)).collect();
        for effect in &self.effects {
            for (place, share) in effect.places.iter().zip(effect.shares(flows, &value)) {
                // Rising, and every effect's places are among them.
                let Ok(at) = left.binary_search_by_key(place, |(place, _)| *place) else {
                    continue;
                };
                left[at].1 = left[at].1.with(share, |left, share| left * (1.0 - share));
            }
        }
        left.iter().map(|(place, left)| (*place, left.map(|left| 1.0 - left))).collect()
    }

    /// Shares in one draw.
    pub fn drawn_shares(&self, flows: &FleetFlows, draw: usize) -> Shares {
        self.shares(flows, |input| input.draws.get(draw).copied().unwrap_or(input.value))
    }

    /// Shares where every input has its mean.
    pub fn usual_shares(&self, flows: &FleetFlows) -> Shares {
        self.shares(flows, |input| input.value)
    }

    /// Means of the shares over the draws.
    pub fn mean_shares(&self, flows: &FleetFlows, draws: u32) -> Shares {
        let often = f64::from(draws.max(1));
        let mut means: Shares = self.places.iter().map(|place| (*place, Purse::NONE)).collect();
        for draw in 0..draws as usize {
            for ((_, mean), (_, share)) in means.iter_mut().zip(self.drawn_shares(flows, draw)) {
                *mean = mean.with(share, |mean, share| mean + share / often);
            }
        }
        means
    }
}

/// What is saved in a year of these shares, with these flows of 5.5.
pub fn saving(flows: &FleetFlows, shares: &Shares, skipped: &[Skipped]) -> Saving {
    let mut saved = Saving::default();
    for (place, shares) in shares {
        let skipped = skipped.get(*place).copied().unwrap_or_default();
        let signed = Purse::SIGNS.with(*shares, |sign, share| sign * share);
        let money = signed.with(purse(flows, *place, &skipped), |share, money| share * money);
        for money in money.values() {
            saved.money += money;
        }
        let faults = shares.faults * skipped.faults;
        saved.faults += faults;
        saved.downtime_min += faults * flows.places[*place].downtime_min;
    }
    saved
}

/// Money by pool of a place.
pub fn purse(flows: &FleetFlows, place: usize, skipped: &Skipped) -> Purse {
    let (faults, looks) = (skipped.associated, skipped.looks);
    Purse { faults, looks, ..flows.places[place].purse }
}
