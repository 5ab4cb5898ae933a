//! What each kind of effect keeps out of the pools of a place, given its uncertain numbers.

use std::sync::Arc;

use super::act::{Act, Joint, less_dirt};
use super::flows::{FleetFlows, Place};
use super::input::{Input, Values};
use super::purse::Purse;
use super::resting::Resting;
use crate::measures::flag::Flag;
use crate::stats::shifted_odds::Exit;

/// An effect on the flows of a fleet.
#[derive(Clone, Debug)]
pub struct Planned {
    /// What is changed.
    pub change: Change,
    /// Places in the flows.
    pub places: Vec<usize>,
    /// What it works through, by a number: of two effects with the same means the stronger counts.
    pub means: u64,
    /// What its strength is joined with at one place, by a number.
    pub joined: u64,
    /// What all units together serve in a year, where they do nothing else.
    pub capacity: Option<f64>,
    /// What a reader must know of what it rests on.
    pub flags: Vec<Flag>,
}

/// How the visits of an effect's places leave in one draw.
#[derive(Clone, Debug)]
pub struct DrawnCourse {
    /// Of all places together.
    pub exits: Arc<[Exit]>,
    /// Place by place.
    pub rests: Vec<Resting>,
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
        exits: Arc<[Exit]>,
        /// The same in every draw, with what of each place's cleanings rests on them; empty where visits are not drawn.
        drawn: Vec<DrawnCourse>,
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
        /// The share of first looks there that find dirt.
        found: Input,
        /// Hazard of the step after that stage.
        after: Input,
        /// First looks a year at these places.
        first_looks: f64,
        /// Those of them that find dirt.
        dirty: f64,
        /// End faces a year that come to be mated there.
        arriving: f64,
        /// The share of these that is looked at one stage earlier now.
        now: Input,
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
    /// Carriers of one kind pass on less onto ends, or leave less in cycles.
    Carriers {
        /// Dirty ends, or dirty cycles, in excess a year.
        excess: Input,
        /// The share of them that goes.
        gone: Input,
        /// The part of the excess that is at each of the places.
        parts: Vec<f64>,
        /// Whether it is of cycles.
        of_cycles: bool,
    },
}

impl Change {
    /// Its uncertain numbers.
    pub fn inputs(&self) -> Vec<&Input> {
        match self {
            Change::Coverage { reached } => vec![reached],
            Change::Cleaning { odds, .. } => vec![odds],
            Change::Minutes { minutes, .. } => vec![minutes],
            Change::Inspection { reached, now, found, after, .. } => {
                vec![reached, now, found, after]
            }
            Change::Entry { hazard, times, .. } => vec![hazard, times],
            Change::Carriers { excess, gone, .. } => vec![excess, gone],
        }
    }

    /// What is joined at one place, in a word; the cleanings that it is of where these are of one method.
    pub fn word(&self) -> String {
        let of = |word: &str, method: &Option<String>| {
            format!("{word} of {}", method.as_deref().unwrap_or("all"))
        };
        match self {
            Change::Coverage { .. } => "coverage".to_owned(),
            Change::Cleaning { method, .. } => of("odds", method),
            Change::Minutes { method, .. } => of("minutes", method),
            Change::Inspection { .. } => "inspection".to_owned(),
            Change::Entry { hazard, .. } => hazard.name.clone(),
            Change::Carriers { of_cycles: true, .. } => "dirty cycles of carriers".to_owned(),
            Change::Carriers { .. } => "dirty ends of carriers".to_owned(),
        }
    }

    /// Whether faults associated with skipped looks are among what it keeps out.
    pub fn avoids_faults(&self) -> bool {
        match self {
            Change::Coverage { .. }
            | Change::Inspection { .. }
            | Change::Entry { .. }
            | Change::Carriers { of_cycles: false, .. } => true,
            Change::Cleaning { .. } | Change::Minutes { .. } | Change::Carriers { .. } => false,
        }
    }
}

impl Planned {
    /// What there is for its units to serve in a year.
    fn demand(&self, flows: &FleetFlows, values: &Values) -> f64 {
        let places = self.places.iter().map(|place| &flows.places[*place]);
        match &self.change {
            Change::Coverage { reached } => {
                let reached = values.of(reached);
                places.map(|place| raised(place, reached) * place.unseen_ends).sum()
            }
            Change::Cleaning { method, .. } | Change::Minutes { method, .. } => {
                places.map(|place| cleaned(place, method)).sum()
            }
            Change::Inspection { reached, now, arriving, .. } => {
                (values.of(reached) - values.of(now)).max(0.0) * arriving
            }
            Change::Entry { passing, .. } => *passing,
            Change::Carriers { .. } => 0.0,
        }
    }

    /// The part of what all units can serve in a year that it takes.
    pub fn load(&self, flows: &FleetFlows, values: &Values) -> f64 {
        match self.capacity {
            None => 0.0,
            Some(capacity) => {
                let demand = self.demand(flows, values);
                if demand > 0.0 { demand / capacity } else { 0.0 }
            }
        }
    }

    /// What it does at each of its places, with these values of its uncertain numbers, where its units serve this part of the
    /// demand.
    pub fn acts(&self, flows: &FleetFlows, values: &Values, served: f64) -> Vec<Act> {
        let value = |input: &Input| values.of(input);
        let places = || self.places.iter().map(|place| &flows.places[*place]);
        let shares = |full: Purse| Act::of_shares(self.means, Joint::Left, full, served);
        match &self.change {
            Change::Coverage { reached } => {
                let reached = value(reached);
                places()
                    .map(|place| raised(place, reached))
                    .map(|share| shares(Purse { faults: share, looks: share, ..Purse::NONE }))
                    .collect()
            }
            Change::Cleaning { odds, exits, drawn, method } => {
                let (of, odds) = (self.joined, value(odds));
                let act = |exits: &Arc<[Exit]>, rests: Resting| {
                    let joint = Joint::Odds { of, exits: Arc::clone(exits), rests };
                    Act::of_strength(self.means, joint, odds, served)
                };
                match values.visits().and_then(|draw| drawn.get(draw)) {
                    Some(drawn) => {
                        drawn.rests.iter().map(|rests| act(&drawn.exits, *rests)).collect()
                    }
                    None => {
                        let rests = |place: &Place| {
                            let (left, method) = (place.left(), method.as_deref());
                            Resting::of(&left, method).with_soiled(place.soiled_by(method), &left)
                        };
                        places().map(|place| act(exits, rests(place))).collect()
                    }
                }
            }
            Change::Minutes { minutes, usual, method } => {
                let less = 1.0 - value(minutes).max(0.0) / usual;
                places()
                    .map(|place| part(place, method) * less)
                    .map(|labour| shares(Purse { labour, labour_on_clean: labour, ..Purse::NONE }))
                    .collect()
            }
            Change::Inspection { reached, now, found, after, first_looks, dirty, .. } => {
                let raised = (value(reached) - value(now)).max(0.0);
                // Dirt that came before is found and taken off; that of the step after still comes.
                let fewer = value(found) * (-value(after)).exp();
                let share = (raised * first_looks * fewer / dirty).clamp(0.0, 1.0);
                let act = shares(Purse { arrivals: raised, ..less_dirt(share) });
                vec![act; self.places.len()]
            }
            Change::Entry { hazard, times, passing, dirty } => {
                let (of, hazard) = (self.joined, value(hazard));
                let joint = Joint::Hazard { of, hazard, passing: passing / dirty };
                let act = Act::of_strength(self.means, joint, value(times), served);
                vec![act; self.places.len()]
            }
            Change::Carriers { excess, gone, parts, of_cycles } => {
                let (excess, gone) = (value(excess), value(gone));
                let act = |(place, part): (&Place, &f64)| {
                    let on_dirt = place.cleanings * (1.0 - place.on_clean);
                    let all = if *of_cycles { on_dirt } else { place.dirty };
                    let share =
                        if all > 0.0 { (part * excess / all).clamp(-1.0, 1.0) } else { 0.0 };
                    let share = share * gone;
                    let full = match of_cycles {
                        true => {
                            let (labour, material, looks_again) = (share, share, share);
                            Purse { labour, material, looks_again, ..Purse::NONE }
                        }
                        false => less_dirt(share),
                    };
                    Act::of_shares(self.means, Joint::Adds(self.joined), full, served)
                };
                places().zip(parts).map(act).collect()
            }
        }
    }
}

/// The share of the skipped matings of a place that has both ends seen once this coverage is reached.
fn raised(place: &Place, reached: f64) -> f64 {
    let wanted = (reached * place.known - place.both).max(0.0);
    if place.skipped > 0.0 { (wanted / place.skipped).min(1.0) } else { 0.0 }
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
