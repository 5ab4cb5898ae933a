//! Takes an effect of the settings to the flows of a fleet: which places, which numbers, what is lacking.

use super::effect::{Change, Planned, Reason};
use super::flows::{FleetFlows, Place};
use super::input::{Drawing, Input};
use super::named::{DIRTY_CYCLES, DIRTY_ENDS};
use crate::measures::flag::Flag;
use crate::settings::{Effect, EffectKind, Proposal, Stated};
use crate::stats::shifted_odds::{Exit, course};

/// An effect on its way into a case.
pub(in crate::measures) struct Preparing<'a> {
    pub flows: &'a FleetFlows,
    pub proposal: &'a Proposal,
    pub effect: &'a Effect,
    pub number: usize,
    pub drawing: &'a Drawing,
}

impl Preparing<'_> {
    /// The name of a stated number's stream: of this proposal and effect alone.
    fn stated(&self, what: &str, name: &str, stated: &Stated) -> Input {
        let key = format!("{}/{}/{what}", self.proposal.name, self.number);
        self.drawing.stated(&key, name.to_owned(), stated)
    }

    fn total(&self, places: &[usize], of: impl Fn(&Place) -> f64) -> f64 {
        places.iter().map(|place| of(&self.flows.places[*place])).sum()
    }

    /// The effect on the places it names.
    pub(in crate::measures) fn planned(&self) -> Result<Planned, Reason> {
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

    /// Looks at stages that now skip them. Where ends are mated at such a stage they are looked at before
    /// that; else on arrival, and what that finds does not reach the next stage.
    pub(in crate::measures) fn inspections(&self) -> Result<Vec<Planned>, Reason> {
        let EffectKind::Coverage(share) = &self.effect.kind else { return Ok(Vec::new()) };
        let planned = |stage: &String| -> Result<Planned, Reason> {
            let here = self.flows.places_of(std::slice::from_ref(stage), &self.effect.sites);
            let reached = self.stated(&format!("coverage at {stage}"), "coverage reached", share);
            let reached = Input { unit: "share", ..reached };
            if self.total(&here, |place| place.known) > 0.0 {
                let inputs = vec![reached];
                return Ok(Planned {
                    change: Change::Coverage,
                    places: here,
                    capacity: None,
                    inputs,
                    flags: Vec::new(),
                });
            }
            self.on_arrival(stage, &here, reached)
        };
        self.effect.stages.iter().map(planned).collect()
    }

    fn on_arrival(&self, stage: &str, here: &[usize], reached: Input) -> Result<Planned, Reason> {
        let stages = &self.flows.stages;
        let at = stages.iter().position(|own| own == stage);
        let beside = at.and_then(|at| Some((stages.get(at.checked_sub(1)?)?, stages.get(at + 1)?)));
        let (before, after) = beside.ok_or_else(|| {
            lacking(&format!(
                "looks at {stage}: nothing is mated there, and no stage on either side"
            ))
        })?;
        let places = self.flows.places_of(std::slice::from_ref(after), &self.effect.sites);
        let first_looks = self.total(&places, |place| place.first_looks);
        let dirty = self.total(&places, |place| place.dirty);
        if dirty <= 0.0 || first_looks <= 0.0 {
            return Err(lacking(&format!("dirt at {after}: no first look there found any")));
        }
        let now = (self.total(here, |place| place.first_looks) / first_looks).min(1.0);
        let (into, own) = self.hazard(before, stage)?;
        let (out, other) = self.hazard(stage, after)?;
        Ok(Planned {
            change: Change::Inspection { first_looks, dirty, now },
            places,
            capacity: None,
            inputs: vec![reached, into, out],
            flags: own.into_iter().chain(other).collect(),
        })
    }

    /// The hazard of a step as 5.6 has it, with its flags.
    fn hazard(&self, from: &str, to: &str) -> Result<(Input, Vec<Flag>), Reason> {
        let what = format!("the hazard of dirt entering from {from} to {to}");
        let steps = self.flows.entry.as_deref().unwrap_or_default();
        let step = steps.iter().find(|step| step.from == from && step.to == to);
        let step = step.ok_or_else(|| lacking(&what))?;
        let input = self.drawing.amount(what, "entry", [step.low, step.hazard, step.high]);
        Ok((input, step.flags.clone()))
    }

    fn cleaning(
        &self,
        places: &[usize],
        contrast: &Option<(String, String)>,
        odds: &Option<Stated>,
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
        times: &Stated,
    ) -> Result<(Change, Vec<Input>, Vec<Flag>), Reason> {
        let (hazard, flags) = self.hazard(from, to)?;
        let steps = self.flows.entry.as_deref().unwrap_or_default();
        let passing = steps.iter().find(|step| step.from == from && step.to == to);
        let passing = passing.map_or(0.0, |step| step.passing);
        let all = self.flows.places_of(&[to.to_owned()], &[]);
        let (here, everywhere) = (
            self.total(places, |place| place.first_looks),
            self.total(&all, |place| place.first_looks),
        );
        let dirty = self.total(places, |place| place.dirty);
        if dirty <= 0.0 || everywhere <= 0.0 {
            return Err(lacking(&format!("dirt at {to}: no first look there found any")));
        }
        // The table of entry is of the whole fleet: sites have their part by their first looks.
        let passing = passing * self.flows.yearly * here / everywhere;
        let times = self.stated("times", "what the hazard is multiplied by", times);
        Ok((Change::Entry { passing, dirty }, vec![hazard, times], flags))
    }

    fn carriers(
        &self,
        places: &[usize],
        share: &Stated,
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
                    && (sites.is_empty()
                        || own.site.as_ref().is_none_or(|site| sites.contains(site)))
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
