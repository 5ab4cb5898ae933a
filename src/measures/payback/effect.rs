//! What each kind of effect keeps out of the pools of a place, given its uncertain numbers.

use super::super::flag::Flag;
use super::flows::{FleetFlows, POOLS, Purse};
use super::input::{Drawing, Input};
use super::named::{DIRTY_CYCLES, DIRTY_ENDS};
use crate::settings::{Effect, EffectKind, Proposal};
use crate::stats::shifted_odds::{Exit, course};

/// An effect on the flows of a fleet.
#[derive(Clone, Debug)]
pub struct Planned {
    change: Change,
    /// Places in the flows.
    pub places: Vec<usize>,
    /// What all units together serve in a year.
    capacity: Option<f64>,
    /// Its uncertain numbers, in the order that the change reads them.
    pub inputs: Vec<Input>,
    pub flags: Vec<Flag>,
}

#[derive(Clone, Debug)]
enum Change {
    /// Reads the share of matings with both ends seen.
    Coverage,
    /// Reads what odds are multiplied by; of this method's cleanings, or of all.
    Cleaning { exits: Vec<Exit>, method: Option<String> },
    /// Reads the minutes that a cleaning takes; of this method's, or of all.
    Minutes { usual: f64, method: Option<String> },
    /// Reads the hazard and what it is multiplied by. End faces that pass and first looks that find dirt,
    /// at these places in a year.
    Entry { passing: f64, dirty: f64 },
    /// Reads dirty ends and dirty cycles in excess in a year, and the share of them that goes.
    Carriers { dirty: f64, cleanings: f64 },
}

/// Why a proposal has no value.
pub type Reason = String;

impl Planned {
    /// Prepares an effect.
    ///
    /// # Errors
    /// In words, what the fleet has no estimate of.
    pub fn of(
        flows: &FleetFlows,
        proposal: &Proposal,
        number: usize,
        drawing: &Drawing,
        level: f64,
    ) -> Result<Planned, Reason> {
        let effect = &proposal.effects[number];
        let preparing = Preparing { flows, proposal, effect, number, drawing };
        let mut planned = preparing.planned()?;
        planned.capacity = effect.capacity.map(|own| own * f64::from(proposal.units));
        if !matches!(effect.kind, EffectKind::Cleaning { .. } | EffectKind::Minutes { .. }) {
            planned.flags.extend(flows.ratio_flags(&planned.places, level));
        }
        Ok(planned)
    }

    /// The share that it keeps out of each pool of its places, with these values of its inputs. The
    /// share of a pool that a proposal would add to is negative.
    pub fn shares(&self, flows: &FleetFlows, values: &[f64]) -> Vec<Purse> {
        let value = |at: usize| values.get(at).copied().unwrap_or(0.0);
        let places = || self.places.iter().map(|place| &flows.places[*place]);
        match &self.change {
            Change::Coverage => {
                let raised = |place: &super::flows::Place| {
                    let wanted = (value(0) * place.known - place.both).max(0.0);
                    if place.skipped > 0.0 { (wanted / place.skipped).min(1.0) } else { 0.0 }
                };
                let looks = places().map(|place| raised(place) * place.unseen_ends).sum();
                let served = self.served(looks);
                places().map(|place| raised(place) * served).map(|own| [own, own, 0.0, 0.0, 0.0, 0.0]).collect()
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
                    [0.0, 0.0, own, own, own, part * rejects]
                };
                places().map(|place| shares(part(place, method))).collect()
            }
            Change::Minutes { usual, method } => {
                let served = self.served(places().map(|place| cleaned(place, method)).sum());
                let less = 1.0 - value(0).max(0.0) / usual;
                let own = |part: f64| [0.0, 0.0, part * less * served, 0.0, 0.0, 0.0];
                places().map(|place| own(part(place, method))).collect()
            }
            Change::Entry { passing, dirty } => {
                let (hazard, times) = (value(0), value(1));
                let avoided = passing * ((-times * hazard).exp() - (-hazard).exp());
                let share = (avoided / dirty).clamp(-1.0, 1.0) * self.served(*passing);
                vec![[share, 0.0, share, share, share, share]; self.places.len()]
            }
            Change::Carriers { dirty, cleanings } => {
                let share = |excess: f64, all: f64| {
                    if all > 0.0 { (excess / all).clamp(-1.0, 1.0) * value(2) } else { 0.0 }
                };
                let (ends, cycles) = (share(value(0), *dirty), share(value(1), *cleanings));
                // Cycles of a bad tool are dirt that stays: what is left of the ends' share counts.
                let both = 1.0 - (1.0 - ends) * (1.0 - cycles);
                vec![[ends, 0.0, both, both, both, ends]; self.places.len()]
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
fn cleaned(place: &super::flows::Place, method: &Option<String>) -> f64 {
    match method {
        Some(method) => place.by_method.get(method).copied().unwrap_or(0.0),
        None => place.cleanings,
    }
}

/// The part of a place's cleanings that is of the method.
fn part(place: &super::flows::Place, method: &Option<String>) -> f64 {
    if method.is_none() {
        return 1.0;
    }
    let all = place.cleanings;
    if all > 0.0 { (cleaned(place, method) / all).min(1.0) } else { 0.0 }
}

struct Preparing<'a> {
    flows: &'a FleetFlows,
    proposal: &'a Proposal,
    effect: &'a Effect,
    number: usize,
    drawing: &'a Drawing,
}

impl Preparing<'_> {
    /// The name of a stated number's stream: of this proposal and effect alone.
    fn stated(&self, what: &str, name: &str, stated: &crate::settings::Stated) -> Input {
        let key = format!("{}/{}/{what}", self.proposal.name, self.number);
        self.drawing.stated(&key, name.to_owned(), stated)
    }

    fn total(&self, places: &[usize], of: impl Fn(&super::flows::Place) -> f64) -> f64 {
        places.iter().map(|place| of(&self.flows.places[*place])).sum()
    }

    fn planned(&self) -> Result<Planned, Reason> {
        let effect = self.effect;
        let mut places = self.flows.places_of(&effect.stages, &effect.sites);
        let mut flags = Vec::new();
        let (change, inputs) = match &effect.kind {
            EffectKind::Coverage(share) => {
                if self.total(&places, |place| place.known) <= 0.0 {
                    return Err(lacking("coverage: no mating of known coverage there"));
                }
                let reached = self.stated("coverage", "coverage reached", share);
                (Change::Coverage, vec![Input { unit: "share", ..reached }])
            }
            EffectKind::Cleaning { contrast, odds } => self.cleaning(&places, contrast, odds)?,
            EffectKind::Minutes { minutes, instead_of } => {
                let usual = self.flows.cleaning_minutes;
                if usual <= 0.0 {
                    return Err(lacking("the minutes of a cleaning: [costs] says 0"));
                }
                let minutes = self.stated("minutes", "minutes of a cleaning", minutes);
                (Change::Minutes { usual, method: instead_of.clone() }, vec![minutes])
            }
            EffectKind::Entry { from, to, times } => {
                places = self.flows.places_of(std::slice::from_ref(to), &effect.sites);
                let (change, inputs, own) = self.entry(&places, from, to, times)?;
                flags = own;
                (change, inputs)
            }
            EffectKind::Carriers { share, kinds } => self.carriers(&places, share, kinds)?,
        };
        Ok(Planned { change, places, capacity: None, inputs, flags })
    }

    fn cleaning(
        &self,
        places: &[usize],
        contrast: &Option<(String, String)>,
        odds: &Option<crate::settings::Stated>,
    ) -> Result<(Change, Vec<Input>), Reason> {
        let method = contrast.as_ref().map(|(_, instead_of)| instead_of.clone());
        let word = method.clone().unwrap_or_default();
        let mut exits: Vec<Exit> = Vec::new();
        for place in places {
            let own = self.flows.places[*place].exits.get(&word).map_or(&[][..], Vec::as_slice);
            exits.resize(exits.len().max(own.len()), Exit::default());
            for (sum, own) in exits.iter_mut().zip(own) {
                sum.succeeded = sum.succeeded.saturating_add(own.succeeded);
                sum.taken_out = sum.taken_out.saturating_add(own.taken_out);
                sum.gave_up = sum.gave_up.saturating_add(own.gave_up);
                sum.censored = sum.censored.saturating_add(own.censored);
            }
        }
        if course(&exits, 1.0).is_none_or(|course| course.trials <= 0.0) {
            return Err(lacking("cycles to pass: no cleaning there that was looked at after"));
        }
        let known = contrast.as_ref().and_then(|own| Some((own, self.flows.contrasts.get(own)?)));
        let odds = match (known, odds, contrast) {
            (Some(((method, other), own)), _, _) => {
                let name = format!("odds of passing a cycle, {method} against {other}");
                self.drawing.ratio(name, "cycles: odds-ratio", own.log_odds, own.se)
            }
            (None, Some(odds), _) => self.stated("odds", "odds of passing a cycle, times", odds),
            (None, None, Some((method, other))) => {
                return Err(lacking(&format!(
                    "the odds of {method} against {other}, and none is stated"
                )));
            }
            (None, None, None) => return Err(lacking("the odds, and none is stated")),
        };
        Ok((Change::Cleaning { exits, method }, vec![odds]))
    }

    fn entry(
        &self,
        places: &[usize],
        from: &str,
        to: &str,
        times: &crate::settings::Stated,
    ) -> Result<(Change, Vec<Input>, Vec<Flag>), Reason> {
        let what = format!("the hazard of dirt entering from {from} to {to}");
        let steps = self.flows.entry.as_deref().unwrap_or_default();
        let step = steps.iter().find(|step| step.from == from && step.to == to);
        let step = step.ok_or_else(|| lacking(&what))?;
        let all = self.flows.places_of(&[to.to_owned()], &[]);
        let (here, everywhere) =
            (self.total(places, |place| place.first_looks), self.total(&all, |place| place.first_looks));
        let dirty = self.total(places, |place| place.dirty);
        if dirty <= 0.0 || everywhere <= 0.0 {
            return Err(lacking(&format!("dirt at {to}: no first look there found any")));
        }
        // The table of entry is of the whole fleet: sites have their part by their first looks.
        let passing = step.passing * self.flows.yearly * here / everywhere;
        let hazard = self.drawing.amount(what, "entry", [step.low, step.hazard, step.high]);
        let times = self.stated("times", "what the hazard is multiplied by", times);
        Ok((Change::Entry { passing, dirty }, vec![hazard, times], step.flags.clone()))
    }

    fn carriers(
        &self,
        places: &[usize],
        share: &crate::settings::Stated,
        kinds: &[String],
    ) -> Result<(Change, Vec<Input>), Reason> {
        let Some(all) = &self.flows.carriers else {
            return Err(lacking("what carriers pass on"));
        };
        let sites = &self.effect.sites;
        let wanted = |kind: &str| kinds.is_empty() || kinds.iter().any(|own| own == kind);
        let excess = |of: &[&str]| {
            let own = all.iter().filter(|own| {
                of.contains(&own.kind.as_str())
                    && wanted(&own.kind)
                    && (sites.is_empty() || own.site.as_ref().is_none_or(|site| sites.contains(site)))
            });
            own.fold((0.0, 0.0, 0), |(sum, variance, count), own| {
                (sum + own.excess, variance + own.se * own.se, count + 1)
            })
        };
        let (ends, cycles) = (excess(&DIRTY_ENDS), excess(&DIRTY_CYCLES));
        if ends.2 + cycles.2 == 0 {
            return Err(lacking("what carriers pass on: none of these kinds stands out"));
        }
        let input = |what: &str, (sum, variance, _): (f64, f64, i32)| {
            let yearly = self.flows.yearly;
            let name = format!("{what} of carriers beyond others a year");
            self.drawing.normal(name, "carriers", sum * yearly, variance.sqrt() * yearly)
        };
        let inputs = vec![
            input("dirty ends", ends),
            input("dirty cycles", cycles),
            Input { unit: "share", ..self.stated("share", "share of that dirt that goes", share) },
        ];
        let dirty = self.total(places, |place| place.dirty);
        let cleanings = self.total(places, |place| place.cleanings);
        Ok((Change::Carriers { dirty, cleanings }, inputs))
    }
}

/// The sentence of a proposal that cannot be valued.
fn lacking(what: &str) -> Reason {
    format!("cannot be valued: the fleet has no estimate of {what}")
}
