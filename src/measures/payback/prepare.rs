//! Takes an effect of the settings to the flows of a fleet: which places, which numbers, what is lacking.

use super::declared::{InputUnit, Source};
use super::effect::{Change, Planned};
use super::flows::{FleetFlows, Place, StepHazard};
use super::input::{Drawing, Input};
use super::named::{DIRTY_CYCLES, DIRTY_ENDS};
use crate::measures::actions::Moves;
use crate::measures::carriers::Carrier;
use crate::measures::flag::Flag;
use crate::settings::{Effect, EffectKind, Proposal, Stated};
use crate::stats::shifted_odds::{Exit, course};

/// Why a proposal has no value.
pub type Reason = String;

/// Prepares an effect of a proposal, by its number; one that acts at several stages by itself is several.
///
/// # Errors
/// In words, what the fleet has no estimate of.
pub fn planned(
    flows: &FleetFlows,
    proposal: &Proposal,
    number: usize,
    drawing: &Drawing,
) -> Result<Vec<Planned>, Reason> {
    let effect = &proposal.effects[number];
    let preparing = Preparing { flows, proposal, effect, number, drawing };
    let places = || flows.places_of(&effect.stages, &effect.sites);
    let one = match &effect.kind {
        EffectKind::Coverage(share) => preparing.coverage(places(), share),
        EffectKind::Inspection(share) => {
            let stages = effect.stages.iter();
            return stages.map(|stage| preparing.inspection(stage, share)).collect();
        }
        EffectKind::Cleaning { contrast, odds } => preparing.cleaning(places(), contrast, odds),
        EffectKind::Minutes { minutes, instead_of } => {
            preparing.minutes(places(), minutes, instead_of)
        }
        EffectKind::Entry { from, to, times } => preparing.entry(from, to, times),
        EffectKind::Carriers { share, kinds } => preparing.carriers(places(), share, kinds),
    };
    Ok(vec![one?])
}

/// An effect on its way into a case.
struct Preparing<'a> {
    flows: &'a FleetFlows,
    proposal: &'a Proposal,
    effect: &'a Effect,
    number: usize,
    drawing: &'a Drawing,
}

impl Preparing<'_> {
    /// The effect, with its flags: these, and those of the ratio where it avoids faults.
    fn of(&self, change: Change, places: Vec<usize>, mut flags: Vec<Flag>) -> Planned {
        if change.avoids_faults() {
            flags.extend(self.flows.ratio_flags(&places, self.drawing.level));
        }
        let units = f64::from(self.proposal.units);
        let capacity = self.effect.capacity.map(|of_one| of_one * units);
        Planned { change, places, capacity, flags }
    }

    /// A stated number; its stream is of this proposal and effect alone.
    fn stated(&self, what: &str, name: &str, stated: &Stated) -> Input {
        let key = format!("{}/{}/{what}", self.proposal.name, self.number);
        self.drawing.stated(&key, name.to_owned(), stated)
    }

    /// A number as it is stated, or as an action of the same kind had it here before.
    fn judged(
        &self,
        moves: Moves,
        what: &str,
        name: &str,
        stated: &Stated,
    ) -> Result<Input, Reason> {
        let Some(action) = &self.effect.as_action else {
            return Ok(self.stated(what, name, stated));
        };
        let mut experiences = self.flows.experiences.iter();
        let found = experiences.find(|own| own.action == *action && own.moves == moves);
        let found = found.ok_or_else(|| {
            lacking(&format!("what went with {action:?}: it has no estimate without a flag"))
        })?;
        let name = format!("{name}, as {action} had it");
        Ok(self.drawing.amount(name, Source::Actions, found.range))
    }

    /// A stated share.
    fn share(&self, what: &str, name: &str, stated: &Stated) -> Input {
        Input { unit: Some(InputUnit::Share), ..self.stated(what, name, stated) }
    }

    fn total(&self, places: &[usize], of: impl Fn(&Place) -> f64) -> f64 {
        places.iter().map(|place| of(&self.flows.places[*place])).sum()
    }

    fn coverage(&self, places: Vec<usize>, share: &Stated) -> Result<Planned, Reason> {
        if self.total(&places, |place| place.known) <= 0.0 {
            return Err(lacking("coverage: no mating of known coverage there"));
        }
        let reached = self.judged(Moves::Skipped, "coverage", "coverage reached", share)?;
        let reached = Input { unit: Some(InputUnit::Share), ..reached };
        Ok(self.of(Change::Coverage { reached }, places, Vec::new()))
    }

    /// Looks at a stage that now skips them. Where ends are mated there they are looked at before that; else on
    /// arrival, and what that finds does not reach the next stage.
    fn inspection(&self, stage: &String, share: &Stated) -> Result<Planned, Reason> {
        let here = self.flows.places_of(std::slice::from_ref(stage), &self.effect.sites);
        let reached = self.share(&format!("coverage at {stage}"), "coverage reached", share);
        if self.total(&here, |place| place.known) > 0.0 {
            return Ok(self.of(Change::Coverage { reached }, here, Vec::new()));
        }
        self.on_arrival(stage, &here, reached)
    }

    fn on_arrival(&self, stage: &str, here: &[usize], reached: Input) -> Result<Planned, Reason> {
        let stages = &self.flows.stages;
        let at = stages.iter().position(|known| known == stage);
        let neighbours =
            at.and_then(|at| Some((stages.get(at.checked_sub(1)?)?, stages.get(at + 1)?)));
        let (earlier, later) = neighbours.ok_or_else(|| {
            lacking(&format!(
                "looks at {stage}: nothing is mated there, and no stage on either side"
            ))
        })?;
        let places = self.flows.places_of(std::slice::from_ref(later), &self.effect.sites);
        let first_looks = self.total(&places, |place| place.first_looks);
        let dirty = self.total(&places, |place| place.dirty);
        if dirty <= 0.0 || first_looks <= 0.0 {
            return Err(lacking(&format!("dirt at {later}: no first look there found any")));
        }
        let now = (self.total(here, |place| place.first_looks) / first_looks).min(1.0);
        let (into, out) = (self.step(earlier, stage)?, self.step(stage, later)?);
        let flags = into.flags.iter().chain(&out.flags).copied().collect();
        let (before, after) = (self.hazard(into), self.hazard(out));
        let change = Change::Inspection { reached, before, after, first_looks, dirty, now };
        Ok(self.of(change, places, flags))
    }

    /// A step as 5.6 has it.
    fn step(&self, from: &str, to: &str) -> Result<&StepHazard, Reason> {
        let steps = self.flows.entry.as_deref().unwrap_or_default();
        let step = steps.iter().find(|step| step.from == from && step.to == to);
        step.ok_or_else(|| lacking(&hazard_of(from, to)))
    }

    fn hazard(&self, step: &StepHazard) -> Input {
        let name = hazard_of(&step.from, &step.to);
        self.drawing.amount(name, Source::Entry, [step.low, step.hazard, step.high])
    }

    fn minutes(
        &self,
        places: Vec<usize>,
        minutes: &Stated,
        instead_of: &Option<String>,
    ) -> Result<Planned, Reason> {
        let usual = self.flows.cleaning_minutes;
        if usual <= 0.0 {
            return Err(lacking("the minutes of a cleaning: [costs] says 0"));
        }
        let minutes = self.stated("minutes", "minutes of a cleaning", minutes);
        let change = Change::Minutes { minutes, usual, method: instead_of.clone() };
        Ok(self.of(change, places, Vec::new()))
    }

    fn cleaning(
        &self,
        places: Vec<usize>,
        contrast: &Option<(String, String)>,
        odds: &Option<Stated>,
    ) -> Result<Planned, Reason> {
        let method = contrast.as_ref().map(|(_, instead_of)| instead_of.clone());
        let mut exits: Vec<Exit> = Vec::new();
        for place in &places {
            let of_place = self.flows.places[*place].exits(method.as_deref());
            exits.resize(exits.len().max(of_place.len()), Exit::default());
            for (sum, exit) in exits.iter_mut().zip(of_place) {
                sum.succeeded = sum.succeeded.saturating_add(exit.succeeded);
                sum.taken_out = sum.taken_out.saturating_add(exit.taken_out);
                sum.gave_up = sum.gave_up.saturating_add(exit.gave_up);
                sum.censored = sum.censored.saturating_add(exit.censored);
            }
        }
        if course(&exits, 1.0).is_none_or(|course| course.trials <= 0.0) {
            return Err(lacking("cycles to pass: no cleaning there that was looked at after"));
        }
        let known =
            contrast.as_ref().and_then(|pair| Some((pair, self.flows.contrasts.get(pair)?)));
        let odds = match (known, odds, contrast) {
            (Some(((method, other), known)), _, _) => {
                let name = format!("odds of passing a cycle, {method} against {other}");
                self.drawing.ratio(name, Source::OddsRatio, known.log_odds, known.se)
            }
            (None, Some(odds), _) => {
                let (moves, name) = (Moves::PassedFirstCycle, "odds of passing a cycle, times");
                self.judged(moves, "odds", name, odds)?
            }
            (None, None, Some((method, other))) => {
                return Err(lacking(&format!(
                    "the odds of {method} against {other}, and none is stated"
                )));
            }
            (None, None, None) => return Err(lacking("the odds, and none is stated")),
        };
        Ok(self.of(Change::Cleaning { odds, exits, method }, places, Vec::new()))
    }

    fn entry(&self, from: &str, to: &str, times: &Stated) -> Result<Planned, Reason> {
        let step = self.step(from, to)?;
        let places = self.flows.places_of(&[to.to_owned()], &self.effect.sites);
        let all = self.flows.places_of(&[to.to_owned()], &[]);
        let here = self.total(&places, |place| place.first_looks);
        let everywhere = self.total(&all, |place| place.first_looks);
        let dirty = self.total(&places, |place| place.dirty);
        if dirty <= 0.0 || everywhere <= 0.0 {
            return Err(lacking(&format!("dirt at {to}: no first look there found any")));
        }
        // The table of entry is of the whole fleet: sites have their part by their first looks.
        let passing = step.passing * self.flows.yearly * here / everywhere;
        let name = "what the hazard is multiplied by";
        let times = self.judged(Moves::FirstPass, "times", name, times)?;
        let change = Change::Entry { hazard: self.hazard(step), times, passing, dirty };
        Ok(self.of(change, places, step.flags.clone()))
    }

    fn carriers(
        &self,
        places: Vec<usize>,
        share: &Stated,
        kinds: &[String],
    ) -> Result<Planned, Reason> {
        let Some(all) = &self.flows.carriers else {
            return Err(lacking("what carriers pass on"));
        };
        let sites = &self.effect.sites;
        let wanted =
            |kind: Carrier| kinds.is_empty() || kinds.iter().any(|known| known == kind.word());
        let excess = |of: &[Carrier]| {
            let found = all.iter().filter(|one| {
                of.contains(&one.kind)
                    && wanted(one.kind)
                    && (sites.is_empty()
                        || one.site.as_ref().is_none_or(|site| sites.contains(site)))
            });
            found.fold(Excess::default(), |sum, one| Excess {
                sum: sum.sum + one.excess,
                variance: sum.variance + one.se * one.se,
                carriers: sum.carriers + 1,
            })
        };
        let (ends, cycles) = (excess(&DIRTY_ENDS), excess(&DIRTY_CYCLES));
        if ends.carriers + cycles.carriers == 0 {
            return Err(lacking("what carriers pass on: none of these kinds stands out"));
        }
        let input = |what: &str, excess: Excess| {
            let yearly = self.flows.yearly;
            let name = format!("{what} of carriers beyond others a year");
            let se = excess.variance.sqrt() * yearly;
            self.drawing.normal(name, Source::Carriers, excess.sum * yearly, se)
        };
        let change = Change::Carriers {
            ends: input("dirty ends", ends),
            cycles: input("dirty cycles", cycles),
            gone: self.share("share", "share of that dirt that goes", share),
            dirty: self.total(&places, |place| place.dirty),
            cleanings: self.total(&places, |place| place.cleanings),
        };
        Ok(self.of(change, places, Vec::new()))
    }
}

/// What several carriers pass on beyond others.
#[derive(Clone, Copy, Default)]
struct Excess {
    sum: f64,
    variance: f64,
    carriers: usize,
}

fn hazard_of(from: &str, to: &str) -> String {
    format!("the hazard of dirt entering from {from} to {to}")
}

/// The sentence of a proposal that cannot be valued.
fn lacking(what: &str) -> Reason {
    format!("cannot be valued: the fleet has no estimate of {what}")
}
