//! What one effect does at one place, and what several do there together.
//!
//! Effects that work by the same means do not add up: a target that two state is reached once, and the same
//! carriers are replaced once. Of them the strongest counts, where each can serve only a part no more than all
//! parts together. Different means work one after the other on what the others leave: odds and hazards are
//! multiplied, other shares kept out of what is left. What different carriers pass on is different dirt, and
//! adds up.

use std::sync::Arc;

use super::purse::Purse;
use super::resting::{Resting, failed_first};
use crate::stats::shifted_odds::{Exit, course};

/// A part so near to all of it that the difference is rounding.
const WHOLE: f64 = 1.0 - 1e-12;

/// How the strengths of different means are joined, where they are.
#[derive(Clone, Debug)]
pub enum Joint {
    /// Not by strength: each works on what the others leave.
    Left,
    /// Shares add up, never beyond all there is; of whose dirt, by a number.
    Adds(u64),
    /// Odds of passing a cycle are multiplied.
    Odds {
        /// Which cleanings, by a number.
        of: u64,
        /// How visits leave these cleanings now.
        exits: Arc<[Exit]>,
        /// What rests on them at the place.
        rests: Resting,
    },
    /// What the hazard of a step is multiplied by is multiplied.
    Hazard {
        /// Which step, by a number.
        of: u64,
        /// The hazard now.
        hazard: f64,
        /// End faces that pass the step for one that is found dirty after it.
        passing: f64,
    },
}

/// What one effect does at one place.
#[derive(Clone, Debug)]
pub struct Act {
    /// What it works through, by a number.
    pub means: u64,
    /// How its strength is joined with that of other means.
    pub joint: Joint,
    /// Odds, or what the hazard is multiplied by.
    pub strength: f64,
    /// The share of each pool that it keeps out alone where it serves all; negative where it adds to the pool.
    pub full: Purse,
    /// The same for what its units can serve.
    pub part: Purse,
    /// The part of the demand that its units can serve.
    pub served: f64,
}

impl Joint {
    /// What is joined with it, by a number.
    fn key(&self) -> Option<u64> {
        match self {
            Joint::Left => None,
            Joint::Adds(of) | Joint::Odds { of, .. } | Joint::Hazard { of, .. } => Some(*of),
        }
    }

    /// The share of each pool that is kept out at this strength.
    pub fn at(&self, strength: f64) -> Purse {
        match self {
            Joint::Left | Joint::Adds(_) => Purse::NONE,
            Joint::Odds { exits, rests, .. } => {
                let (Some(now), Some(then)) = (course(exits, 1.0), course(exits, strength)) else {
                    return Purse::NONE;
                };
                let less = |now: f64, then: f64| if now > 0.0 { 1.0 - then / now } else { 0.0 };
                // What follows a switch to another method is met as often as the switch.
                let switched = less(now.censored, then.censored);
                let Resting { cleanings, cleanings_after, rejects, rejects_after, .. } = *rests;
                let [cycles, rejected] = soiled_spare(exits, strength, rests);
                let trials =
                    cleanings * less(now.trials, then.trials) + cleanings_after * switched + cycles;
                Purse {
                    labour: trials,
                    material: trials,
                    looks_again: trials,
                    rejects: rejects * less(now.taken_out, then.taken_out)
                        + rejects_after * switched
                        + rejected,
                    ..Purse::NONE
                }
            }
            Joint::Hazard { hazard, passing, .. } => {
                let avoided = passing * ((-strength * hazard).exp() - (-hazard).exp());
                less_dirt(avoided.clamp(-1.0, 1.0))
            }
        }
    }

    /// Adds what is uncertain of another draw of the same, so many times.
    fn plus(&mut self, other: &Joint, times: f64) {
        if let (Joint::Hazard { hazard, .. }, Joint::Hazard { hazard: more, .. }) = (self, other) {
            *hazard += more * times;
        }
    }
}

/// Cycles and rejects that better odds spare after cleanings that soiled, of all cleanings and of all rejects: such an end is
/// where one is whose first cycle failed.
fn soiled_spare(exits: &[Exit], strength: f64, rests: &Resting) -> [f64; 2] {
    let failed = failed_first(exits);
    let after = |odds: f64| exits.get(1..).and_then(|exits| course(exits, odds));
    let (Some(now), Some(then), true) = (after(1.0), after(strength), failed > 0.0) else {
        return [0.0; 2];
    };
    let Resting { soiled, soiled_by_reject, .. } = rests;
    [
        soiled * (now.trials - then.trials) / failed,
        soiled_by_reject * (now.taken_out - then.taken_out) / failed,
    ]
}

impl Act {
    /// Where its strength is all there is to it, of units that serve this part of the demand.
    pub fn of_strength(means: u64, joint: Joint, strength: f64, served: f64) -> Act {
        let full = joint.at(strength);
        Act { means, joint, strength, full, part: full.map(|share| share * served), served }
    }

    /// Where it keeps out these shares, of units that serve this part of the demand.
    pub fn of_shares(means: u64, joint: Joint, full: Purse, served: f64) -> Act {
        let part = full.map(|share| share * served);
        Act { means, joint, strength: 1.0, full, part, served }
    }

    /// Whether both work by the same means or are joined by their strength, so that what they do together is not simply
    /// one after the other on what is left.
    pub fn meets(&self, other: &Act) -> bool {
        let joint = self.joint.key();
        self.means == other.means || (joint.is_some() && joint == other.joint.key())
    }

    /// Nothing, to which acts of the same kind can be added.
    pub fn nothing(&self) -> Act {
        let mut joint = self.joint.clone();
        if let Joint::Hazard { hazard, .. } = &mut joint {
            *hazard = 0.0;
        }
        let (full, part) = (Purse::NONE, Purse::NONE);
        Act { means: self.means, joint, strength: 0.0, full, part, served: 0.0 }
    }

    /// Adds another draw of the same act, so many times.
    pub fn plus(&mut self, other: &Act, times: f64) {
        self.full = self.full.with(other.full, |sum, more| sum + more * times);
        self.part = self.part.with(other.part, |sum, more| sum + more * times);
        self.strength += other.strength * times;
        self.served += other.served * times;
        self.joint.plus(&other.joint, times);
    }
}

/// Acts through the same means.
struct Means<'a> {
    /// The one that keeps out most.
    strongest: &'a Act,
    /// The greatest share that any of them would keep out alone.
    most: Purse,
    /// What all of them can serve together.
    parts: Purse,
    /// The best of what each can serve.
    best: Purse,
    served: f64,
}

impl<'a> Means<'a> {
    fn of(act: &'a Act) -> Means<'a> {
        let parts = act.part.map(|share| share.max(0.0));
        Means { strongest: act, most: act.full, parts, best: act.part, served: act.served }
    }

    fn join(&mut self, act: &'a Act) {
        let strength = |act: &Act| act.full.values().iter().sum::<f64>();
        if strength(act) > strength(self.strongest) {
            self.strongest = act;
        }
        self.most = self.most.with(act.full, f64::max);
        self.parts = self.parts.with(act.part, |sum, share| sum + share.max(0.0));
        self.best = self.best.with(act.part, f64::max);
        self.served += act.served;
    }

    /// The share of each pool that they keep out.
    fn kept_out(&self) -> Purse {
        let served = self.most.with(self.parts, f64::min);
        // Where none of them keeps anything out, the one that adds least stands.
        let worst = self.best.with(self.most, |best, most| if most > 0.0 { 0.0 } else { best });
        served.with(worst, |served, worst| if worst < 0.0 { worst } else { served.max(0.0) })
    }

    fn is_whole(&self) -> bool {
        self.served >= WHOLE
    }
}

/// What is left of each pool of a place under all these acts.
pub fn left<'a>(acts: impl Iterator<Item = &'a Act>) -> Purse {
    let mut all: Vec<Means> = Vec::new();
    for act in acts {
        match all.iter_mut().find(|means| means.strongest.means == act.means) {
            Some(means) => means.join(act),
            None => all.push(Means::of(act)),
        }
    }
    let mut left = Purse::ONES;
    let keep_out = |left: &mut Purse, share: Purse| {
        *left = left.with(share, |left, share| left * (1.0 - share));
    };
    let mut joined = vec![false; all.len()];
    for at in 0..all.len() {
        if joined[at] {
            continue;
        }
        let joint = &all[at].strongest.joint;
        let with = |other: &usize| all[*other].strongest.joint.key() == joint.key();
        let others: Vec<usize> = match joint.key() {
            None => vec![at],
            Some(_) => (at..all.len()).filter(with).collect(),
        };
        others.iter().for_each(|other| joined[*other] = true);
        if matches!(joint, Joint::Adds(_)) {
            let sum = others.iter().fold(Purse::NONE, |sum, other| {
                sum.with(all[*other].kept_out(), |sum, share| sum + share)
            });
            keep_out(&mut left, sum.map(|share| share.min(1.0)));
            continue;
        }
        let whole: Vec<usize> = others.iter().copied().filter(|at| all[*at].is_whole()).collect();
        if whole.len() > 1 {
            let strength = whole.iter().map(|at| all[*at].strongest.strength).product();
            keep_out(&mut left, joint.at(strength));
        }
        for other in others {
            // What serves only a part is taken to fall on any others' part alike.
            if whole.len() < 2 || !all[other].is_whole() {
                keep_out(&mut left, all[other].kept_out());
            }
        }
    }
    left
}

/// Where so much less dirt arrives: fewer faults, cleanings, looks after them and rejects.
pub fn less_dirt(share: f64) -> Purse {
    Purse {
        faults: share,
        labour: share,
        material: share,
        looks_again: share,
        rejects: share,
        ..Purse::NONE
    }
}
