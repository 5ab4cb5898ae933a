//! What each kind of effect keeps out of the pools of a place, given its uncertain numbers.

use super::flows::{FleetFlows, POOLS, Place, Purse};
use super::input::{Drawing, Input};
use super::prepare::Preparing;
use crate::measures::flag::Flag;
use crate::settings::{EffectKind, Proposal};
use crate::stats::shifted_odds::{Exit, course};

/// An effect on the flows of a fleet.
#[derive(Clone, Debug)]
pub struct Planned {
    pub(in crate::measures) change: Change,
    /// Places in the flows.
    pub places: Vec<usize>,
    /// What all units together serve in a year.
    pub(in crate::measures) capacity: Option<f64>,
    /// Its uncertain numbers, in the order that the change reads them.
    pub inputs: Vec<Input>,
    pub flags: Vec<Flag>,
}

/// What is changed, and what is known of it.
#[derive(Clone, Debug)]
pub(in crate::measures) enum Change {
    /// Reads the share of matings with both ends seen.
    Coverage,
    /// Reads what odds are multiplied by; of this method's cleanings, or of all.
    Cleaning { exits: Vec<Exit>, method: Option<String> },
    /// Reads the minutes that a cleaning takes; of this method's, or of all.
    Minutes { usual: f64, method: Option<String> },
    /// Reads the share that is looked at one stage earlier, the hazard of the step before that stage and
    /// of the one after it. First looks a year, those that find dirt, and the share looked at now.
    Inspection { first_looks: f64, dirty: f64, now: f64 },
    /// Reads the hazard and what it is multiplied by. End faces that pass and first looks that find dirt,
    /// at these places in a year.
    Entry { passing: f64, dirty: f64 },
    /// Reads dirty ends and dirty cycles in excess in a year, and the share of them that goes.
    Carriers { dirty: f64, cleanings: f64 },
}

/// Why a proposal has no value.
pub type Reason = String;

impl Planned {
    /// Prepares an effect; one that acts at several stages by itself is several.
    ///
    /// # Errors
    /// In words, what the fleet has no estimate of.
    pub fn of(
        flows: &FleetFlows,
        proposal: &Proposal,
        number: usize,
        drawing: &Drawing,
    ) -> Result<Vec<Planned>, Reason> {
        let effect = &proposal.effects[number];
        let preparing = Preparing { flows, proposal, effect, number, drawing };
        let mut all = match effect.word {
            "inspection" => preparing.inspections()?,
            _ => vec![preparing.planned()?],
        };
        for planned in &mut all {
            planned.capacity = effect.capacity.map(|own| own * f64::from(proposal.units));
            if !matches!(effect.kind, EffectKind::Cleaning { .. } | EffectKind::Minutes { .. }) {
                planned.flags.extend(flows.ratio_flags(&planned.places, drawing.level));
            }
        }
        Ok(all)
    }

    /// The share that it keeps out of each pool of its places, with these values of its inputs. The
    /// share of a pool that a proposal would add to is negative.
    pub fn shares(&self, flows: &FleetFlows, values: &[f64]) -> Vec<Purse> {
        let value = |at: usize| values.get(at).copied().unwrap_or(0.0);
        let places = || self.places.iter().map(|place| &flows.places[*place]);
        match &self.change {
            Change::Coverage => {
                let raised = |place: &Place| {
                    let wanted = (value(0) * place.known - place.both).max(0.0);
                    if place.skipped > 0.0 { (wanted / place.skipped).min(1.0) } else { 0.0 }
                };
                let looks = places().map(|place| raised(place) * place.unseen_ends).sum();
                let served = self.served(looks);
                places()
                    .map(|place| raised(place) * served)
                    .map(|own| [own, own, 0.0, 0.0, 0.0, 0.0, 0.0])
                    .collect()
            }
            Change::Cleaning { exits, method } => {
                let served = self.served(places().map(|place| cleaned(place, method)).sum());
                let (Some(now), Some(then)) = (course(exits, 1.0), course(exits, value(0))) else {
                    return vec![[0.0; POOLS]; self.places.len()];
                };
                let less = |now: f64, then: f64| if now > 0.0 { 1.0 - then / now } else { 0.0 };
                let trials = less(now.trials, then.trials) * served;
                let rejects = less(now.taken_out, then.taken_out) * served;
                let shares = |part: f64| {
                    let own = part * trials;
                    [0.0, 0.0, own, own, own, part * rejects, 0.0]
                };
                places().map(|place| shares(part(place, method))).collect()
            }
            Change::Minutes { usual, method } => {
                let served = self.served(places().map(|place| cleaned(place, method)).sum());
                let less = 1.0 - value(0).max(0.0) / usual;
                let own = |part: f64| [0.0, 0.0, part * less * served, 0.0, 0.0, 0.0, 0.0];
                places().map(|place| own(part(place, method))).collect()
            }
            Change::Inspection { first_looks, dirty, now } => {
                let raised = (value(0) - now).max(0.0);
                let raised = raised * self.served(raised * first_looks);
                let (before, after) = (value(1), value(2));
                // Dirt of the step before is found and taken off; that of the step after still comes.
                let fewer = (-after).exp() - (-before - after).exp();
                let share = (raised * first_looks * fewer / dirty).clamp(0.0, 1.0);
                vec![[share, 0.0, share, share, share, share, raised]; self.places.len()]
            }
            Change::Entry { passing, dirty } => {
                let (hazard, times) = (value(0), value(1));
                let avoided = passing * ((-times * hazard).exp() - (-hazard).exp());
                let share = (avoided / dirty).clamp(-1.0, 1.0) * self.served(*passing);
                vec![[share, 0.0, share, share, share, share, 0.0]; self.places.len()]
            }
            Change::Carriers { dirty, cleanings } => {
                let share = |excess: f64, all: f64| {
                    if all > 0.0 { (excess / all).clamp(-1.0, 1.0) * value(2) } else { 0.0 }
                };
                let (ends, cycles) = (share(value(0), *dirty), share(value(1), *cleanings));
                // Cycles of a bad tool are dirt that stays: what is left of the ends' share counts.
                let both = 1.0 - (1.0 - ends) * (1.0 - cycles);
                vec![[ends, 0.0, both, both, both, ends, 0.0]; self.places.len()]
            }
        }
    }

    /// The part of the demand that the units can serve.
    fn served(&self, demand: f64) -> f64 {
        match self.capacity {
            Some(capacity) if demand > capacity => capacity / demand,
            _ => 1.0,
        }
    }
}

/// Cleanings a year of a method, or of all.
fn cleaned(place: &Place, method: &Option<String>) -> f64 {
    match method {
        Some(method) => place.by_method.get(method).copied().unwrap_or(0.0),
        None => place.cleanings,
    }
}

/// The part of a place's cleanings that is of the method.
fn part(place: &Place, method: &Option<String>) -> f64 {
    if method.is_none() {
        return 1.0;
    }
    let all = place.cleanings;
    if all > 0.0 { (cleaned(place, method) / all).min(1.0) } else { 0.0 }
}
