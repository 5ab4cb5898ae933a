//! What each kind of effect keeps out of the pools of a place, given its uncertain numbers.

use super::flows::{FleetFlows, Place, Purse};
use super::input::Input;
use crate::measures::flag::Flag;
use crate::stats::shifted_odds::{Exit, course};

/// An effect on the flows of a fleet.
#[derive(Clone, Debug)]
pub struct Planned {
    /// What is changed.
    pub change: Change,
    /// Places in the flows.
    pub places: Vec<usize>,
    /// What all units together serve in a year.
    pub capacity: Option<f64>,
    /// What a reader must know of what it rests on.
    pub flags: Vec<Flag>,
}

/// What is changed, its uncertain numbers, and what is known of it.
#[derive(Clone, Debug)]
pub enum Change {
    /// The share of matings with both ends seen is raised.
    Coverage {
        /// The share that is reached.
        reached: Input,
    },
    /// Odds of passing a cycle are multiplied.
    Cleaning {
        /// What they are multiplied by.
        odds: Input,
        /// How visits leave now.
        exits: Vec<Exit>,
        /// Of this method's cleanings, or of all.
        method: Option<String>,
    },
    /// A cleaning takes other minutes.
    Minutes {
        /// Minutes of a cleaning.
        minutes: Input,
        /// The same now.
        usual: f64,
        /// Of this method's cleanings, or of all.
        method: Option<String>,
    },
    /// End faces are looked at one stage earlier.
    Inspection {
        /// The share of them that is looked at.
        reached: Input,
        /// Hazard of the step before that stage.
        before: Input,
        /// Hazard of the step after it.
        after: Input,
        /// First looks a year at these places.
        first_looks: f64,
        /// Those of them that find dirt.
        dirty: f64,
        /// The share that is looked at one stage earlier now.
        now: f64,
    },
    /// The hazard of dirt entering is multiplied.
    Entry {
        /// The hazard now.
        hazard: Input,
        /// What it is multiplied by.
        times: Input,
        /// End faces a year that pass the step to these places.
        passing: f64,
        /// First looks a year that find dirt there.
        dirty: f64,
    },
    /// Carriers pass on less.
    Carriers {
        /// Dirty ends in excess a year.
        ends: Input,
        /// Dirty cycles in excess a year.
        cycles: Input,
        /// The share of both that goes.
        gone: Input,
        /// First looks a year that find dirt.
        dirty: f64,
        /// Cleanings a year.
        cleanings: f64,
    },
}

impl Change {
    /// Its uncertain numbers.
    pub fn inputs(&self) -> Vec<&Input> {
        match self {
            Change::Coverage { reached } => vec![reached],
            Change::Cleaning { odds, .. } => vec![odds],
            Change::Minutes { minutes, .. } => vec![minutes],
            Change::Inspection { reached, before, after, .. } => vec![reached, before, after],
            Change::Entry { hazard, times, .. } => vec![hazard, times],
            Change::Carriers { ends, cycles, gone, .. } => vec![ends, cycles, gone],
        }
    }

    /// Whether faults associated with skipped looks are among what it keeps out.
    pub fn avoids_faults(&self) -> bool {
        match self {
            Change::Coverage { .. }
            | Change::Inspection { .. }
            | Change::Entry { .. }
            | Change::Carriers { .. } => true,
            Change::Cleaning { .. } | Change::Minutes { .. } => false,
        }
    }
}

impl Planned {
    /// The share that it keeps out of each pool of its places, with the value that `value` gives each of its uncertain
    /// numbers. The share of a pool that a proposal would add to is negative.
    pub fn shares(&self, flows: &FleetFlows, value: &dyn Fn(&Input) -> f64) -> Vec<Purse> {
        let places = || self.places.iter().map(|place| &flows.places[*place]);
        let everywhere = |shares: Purse| vec![shares; self.places.len()];
        match &self.change {
            Change::Coverage { reached } => {
                let reached = value(reached);
                let raised = |place: &Place| {
                    let wanted = (reached * place.known - place.both).max(0.0);
                    if place.skipped > 0.0 { (wanted / place.skipped).min(1.0) } else { 0.0 }
                };
                let looks = places().map(|place| raised(place) * place.unseen_ends).sum();
                let served = self.served(looks);
                places()
                    .map(|place| raised(place) * served)
                    .map(|share| Purse { faults: share, looks: share, ..Purse::NONE })
                    .collect()
            }
            Change::Cleaning { odds, exits, method } => {
                let served = self.served(places().map(|place| cleaned(place, method)).sum());
                let (Some(now), Some(then)) = (course(exits, 1.0), course(exits, value(odds)))
                else {
                    return everywhere(Purse::NONE);
                };
                let less = |now: f64, then: f64| if now > 0.0 { 1.0 - then / now } else { 0.0 };
                let trials = less(now.trials, then.trials) * served;
                let rejects = less(now.taken_out, then.taken_out) * served;
                let shares = |part: f64| Purse {
                    labour: part * trials,
                    material: part * trials,
                    looks_again: part * trials,
                    rejects: part * rejects,
                    ..Purse::NONE
                };
                places().map(|place| shares(part(place, method))).collect()
            }
            Change::Minutes { minutes, usual, method } => {
                let served = self.served(places().map(|place| cleaned(place, method)).sum());
                let less = 1.0 - value(minutes).max(0.0) / usual;
                let shares = |part: f64| Purse { labour: part * less * served, ..Purse::NONE };
                places().map(|place| shares(part(place, method))).collect()
            }
            Change::Inspection { reached, before, after, first_looks, dirty, now } => {
                let raised = (value(reached) - now).max(0.0);
                let raised = raised * self.served(raised * first_looks);
                let (before, after) = (value(before), value(after));
                // Dirt of the step before is found and taken off; that of the step after still comes.
                let fewer = (-after).exp() - (-before - after).exp();
                let share = (raised * first_looks * fewer / dirty).clamp(0.0, 1.0);
                everywhere(Purse { arrivals: raised, ..less_dirt(share) })
            }
            Change::Entry { hazard, times, passing, dirty } => {
                let (hazard, times) = (value(hazard), value(times));
                let avoided = passing * ((-times * hazard).exp() - (-hazard).exp());
                everywhere(less_dirt((avoided / dirty).clamp(-1.0, 1.0) * self.served(*passing)))
            }
            Change::Carriers { ends, cycles, gone, dirty, cleanings } => {
                let gone = value(gone);
                let share = |excess: f64, all: f64| {
                    if all > 0.0 { (excess / all).clamp(-1.0, 1.0) * gone } else { 0.0 }
                };
                let (ends, cycles) = (share(value(ends), *dirty), share(value(cycles), *cleanings));
                // Cycles of a bad tool are dirt that stays: what is left of the ends' share counts.
                let both = 1.0 - (1.0 - ends) * (1.0 - cycles);
                everywhere(Purse {
                    labour: both,
                    material: both,
                    looks_again: both,
                    ..less_dirt(ends)
                })
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

/// Where so much less dirt arrives: fewer faults, cleanings, looks after them and rejects.
fn less_dirt(share: f64) -> Purse {
    Purse {
        faults: share,
        labour: share,
        material: share,
        looks_again: share,
        rejects: share,
        ..Purse::NONE
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
