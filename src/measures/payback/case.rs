//! One proposal: what it saves in a year, draw by draw.

use super::act::{Act, left};
use super::effect::{Change, Planned};
use super::flows::{FleetFlows, Skipped};
use super::input::{Drawing, Input, Values};
use super::prepare::{Reason, planned};
use super::purse::Purse;
use crate::measures::flag::Flag;
use crate::settings::Proposal;
use crate::stats::shifted_odds::course;

/// A proposal ready to be valued.
#[derive(Clone, Debug)]
pub struct Case<'a> {
    /// As the settings have it.
    pub proposal: &'a Proposal,
    effects: Vec<Planned>,
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
    /// The money by pool; an expense is negative.
    pub pools: Purse,
}

/// Shares of pools by place, for the places of a case.
pub type Shares = Vec<(usize, Purse)>;
/// What effects do by place, places rising.
pub type Acts = Vec<(usize, Act)>;

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
        let mut flags: Vec<Flag> =
            effects.iter().flat_map(|effect| effect.flags.iter().copied()).collect();
        flags.extend(flows.short_history.then_some(Flag::ShortHistory));
        flags.sort_unstable();
        flags.dedup();
        Ok(Case { proposal, effects, flags })
    }

    /// All uncertain numbers of its effects.
    pub fn inputs(&self) -> impl Iterator<Item = &Input> {
        self.effects.iter().flat_map(|effect| effect.change.inputs())
    }

    /// What its effects do, place by place, with these values of its uncertain numbers. The year of its units is shared
    /// among its effects.
    pub fn acts(&self, flows: &FleetFlows, values: &Values) -> Acts {
        let load: f64 = self.effects.iter().map(|effect| effect.load(flows, values)).sum();
        let served = |effect: &Planned| match effect.capacity {
            Some(_) if load > 1.0 => 1.0 / load,
            _ => 1.0,
        };
        let mut acts: Acts = Vec::new();
        for effect in &self.effects {
            let of_effect = effect.acts(flows, values, served(effect));
            acts.extend(effect.places.iter().copied().zip(of_effect));
        }
        // Of one place in the order of the effects.
        acts.sort_by_key(|(place, _)| *place);
        acts
    }

    /// Shares of pools with these values of its uncertain numbers.
    pub fn shares(&self, flows: &FleetFlows, values: &Values) -> Shares {
        let acts = self.acts(flows, values);
        let of_place = |acts: &[(usize, Act)]| {
            let left = left(acts.iter().map(|(_, act)| act));
            (acts[0].0, left.map(|left| 1.0 - left))
        };
        acts.chunk_by(|(a, _), (b, _)| a == b).map(of_place).collect()
    }

    /// What its effects do in one draw.
    pub fn drawn_acts(&self, flows: &FleetFlows, draw: usize) -> Acts {
        self.acts(flows, &Values::Draw(draw))
    }

    /// Shares in one draw.
    pub fn drawn_shares(&self, flows: &FleetFlows, draw: usize) -> Shares {
        self.shares(flows, &Values::Draw(draw))
    }

    /// The share of cleanings that the better odds spare, at their mean, of the visits of one draw; none where no effect is
    /// of odds, or visits are not drawn.
    pub fn spared(&self, draw: usize) -> Option<f64> {
        let of = |effect: &Planned| match &effect.change {
            Change::Cleaning { odds, drawn, .. } => {
                let exits = &drawn.get(draw)?.exits;
                let (now, then) = (course(exits, 1.0)?, course(exits, odds.value)?);
                (now.trials > 0.0).then(|| 1.0 - then.trials / now.trials)
            }
            _ => None,
        };
        self.effects.iter().find_map(of)
    }

    /// Shares where every input has its mean.
    pub fn usual_shares(&self, flows: &FleetFlows) -> Shares {
        self.shares(flows, &Values::Means)
    }

    /// Means over the draws of what its effects do.
    pub fn mean_acts(&self, flows: &FleetFlows, draws: u32) -> Acts {
        let often = f64::from(draws.max(1)).recip();
        let usual = self.acts(flows, &Values::Means);
        let mut means: Acts = usual.iter().map(|(place, act)| (*place, act.nothing())).collect();
        for draw in 0..draws as usize {
            for ((_, mean), (_, act)) in means.iter_mut().zip(self.drawn_acts(flows, draw)) {
                mean.plus(&act, often);
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
        saved.pools = saved.pools.with(money, |sum, money| sum + money);
        let faults = shares.faults * skipped.faults;
        saved.faults += faults;
        saved.downtime_min += faults * flows.places[*place].downtime_min;
    }
    saved
}

/// Money by pool of a place: counted, but that of faults and looks as drawn, and that of cleanings and rejects as many as
/// drawn.
pub fn purse(flows: &FleetFlows, place: usize, skipped: &Skipped) -> Purse {
    let (faults, looks) = (skipped.associated, skipped.looks);
    let counted = flows.places[place].purse;
    let rejects = counted.rejects * (1.0 + skipped.rejects);
    let purse = Purse { faults, looks, rejects, ..counted };
    purse.with(Purse::OF_CLEANINGS, |money, grows| money * (1.0 + grows * skipped.busier))
}
