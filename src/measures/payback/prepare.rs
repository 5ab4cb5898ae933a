//! Takes an effect of the settings to the flows of a fleet: which places, which numbers, what is lacking.

use std::sync::Arc;

use rayon::prelude::*;

use super::declared::{InputUnit, Source};
use super::effect::{Change, DrawnCourse, Planned};
use super::flows::{CarrierExcess, FleetFlows, Place, StepHazard};
use super::input::{Drawing, Input};
use super::named::{DIRTY_CYCLES, DIRTY_ENDS};
use super::resting::Resting;
use super::visits::{Left, add};
use crate::measures::actions::Moves;
use crate::measures::carriers::Carrier;
use crate::measures::cycles::Contrast;
use crate::measures::draw_name::draw_name;
use crate::measures::flag::Flag;
use crate::settings::{Effect, EffectKind, Proposal, Stated};
use crate::stats::bootstrap::Replicate;
use crate::stats::shifted_odds::{Exit, course};
use crate::stats::wilson;

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
    let preparing = Preparing { flows, proposal, effect, drawing };
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
        EffectKind::Carriers { share, kinds } => return preparing.carriers(share, kinds),
    };
    Ok(vec![one?])
}

/// An effect on its way into a case.
struct Preparing<'a> {
    flows: &'a FleetFlows,
    proposal: &'a Proposal,
    effect: &'a Effect,
    drawing: &'a Drawing,
}

impl Preparing<'_> {
    /// The effect, with its flags: these, and those of the ratio where faults rest on it. `means` says what it works
    /// through, unless the settings do.
    fn of(&self, change: Change, places: Vec<usize>, means: &str, mut flags: Vec<Flag>) -> Planned {
        // What looks that are skipped now are worth rests on the ratio even where no fault was seen; less dirt does not.
        let is_of_looks = matches!(change, Change::Coverage { .. } | Change::Inspection { .. });
        if change.avoids_faults() && (is_of_looks || self.flows.has_associated(&places)) {
            flags.extend(self.flows.ratio_flags(&places, self.drawing.level));
        }
        let units = f64::from(self.proposal.units);
        let capacity = self.effect.capacity.map(|of_one| of_one * units);
        let stated = self.effect.means.as_ref().map(|means| format!("means: {means}"));
        let means = draw_name(stated.as_deref().unwrap_or(means));
        let joined = match &change {
            // Dirt of different carriers adds up, wherever else they are.
            Change::Carriers { .. } => change.word(),
            _ => format!("{} of {}", change.word(), self.scope()),
        };
        let joined = draw_name(&joined);
        Planned { change, places, means, joined, capacity, flags }
    }

    /// Where it works.
    fn scope(&self) -> String {
        let Effect { stages, sites, .. } = self.effect;
        format!("{stages:?} {sites:?}")
    }

    /// A name for a stated number: two effects that state the same of the same places mean the same thing.
    fn key(&self, what: &str, stated: &Stated) -> String {
        let Stated { low, likely, high } = stated;
        format!("{what}, {low} {likely} {high}, {}", self.scope())
    }

    /// A stated number.
    fn stated(&self, what: &str, name: &str, stated: &Stated) -> Input {
        self.drawing.stated(&self.key(what, stated), name.to_owned(), stated)
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
        Ok(self.of(Change::Coverage { reached }, places, COVERAGE, Vec::new()))
    }

    /// Looks at a stage that now skips them. Where ends are mated there they are looked at before that; else on
    /// arrival, and what that finds does not reach the next stage.
    fn inspection(&self, stage: &String, share: &Stated) -> Result<Planned, Reason> {
        let here = self.flows.places_of(std::slice::from_ref(stage), &self.effect.sites);
        let reached = self.share(&format!("coverage at {stage}"), "coverage reached", share);
        if self.total(&here, |place| place.known) > 0.0 {
            return Ok(self.of(Change::Coverage { reached }, here, COVERAGE, Vec::new()));
        }
        self.on_arrival(stage, reached)
    }

    fn on_arrival(&self, stage: &str, reached: Input) -> Result<Planned, Reason> {
        let stages = &self.flows.stages;
        let at = stages.iter().position(|known| known == stage);
        let later = at.and_then(|at| stages.get(at + 1)).ok_or_else(|| {
            lacking(&format!("looks at {stage}: nothing is mated there, and no stage follows"))
        })?;
        let places = self.flows.places_of(std::slice::from_ref(later), &self.effect.sites);
        let first_looks = self.total(&places, |place| place.first_looks);
        let dirty = self.total(&places, |place| place.dirty);
        if dirty <= 0.0 || first_looks <= 0.0 {
            return Err(lacking(&format!("dirt at {later}: no first look there found any")));
        }
        let now = self.looked_at_before(stage, later, &places)?;
        let arriving = self.total(&places, |place| place.mated_ends);
        let found = self.found_at(stage)?;
        let out = self.step(stage, later)?;
        let (after, flags) = (self.hazard(out), out.flags.clone());
        let change =
            Change::Inspection { reached, found, after, first_looks, dirty, arriving, now };
        Ok(self.of(change, places, &format!("looks at {stage}"), flags))
    }

    /// The share of first looks at a stage that find dirt: end faces that are not looked at there now are taken to come
    /// there as those that are. Hazards of entry would leave out what came with an end face that nobody had looked at
    /// before, or that was left failing.
    fn found_at(&self, stage: &str) -> Result<Input, Reason> {
        let here = self.flows.places_of(&[stage.to_owned()], &self.effect.sites);
        let counted = |of: fn(&Place) -> f64| self.total(&here, of) / self.flows.yearly;
        let (looks, dirty) = (counted(|place| place.first_looks), counted(|place| place.dirty));
        let name = format!("share of first looks at {stage} that find dirt");
        let nobody = || lacking(&format!("dirt found at {stage}: nobody looks there now"));
        self.counted_share([dirty, looks], name, Source::FirstPass).ok_or_else(nobody)
    }

    /// The share of the ends mated at a stage that were looked at one stage earlier and not mated since. Both ends of a
    /// mating are mostly looked at together, so that each mating counts once.
    fn looked_at_before(
        &self,
        stage: &str,
        later: &str,
        places: &[usize],
    ) -> Result<Input, Reason> {
        let ends = self.total(places, |place| place.counted_ends);
        let looked_at = self.total(places, |place| place.looked_before);
        let name = format!("share of ends mated at {later} that were looked at at {stage}");
        let nothing = || lacking(&format!("looks at {stage}: nothing is mated at {later}"));
        self.counted_share([looked_at / 2.0, ends / 2.0], name, Source::Coverage)
            .ok_or_else(nothing)
    }

    /// A share as counted; none of nothing.
    fn counted_share(&self, [part, all]: [f64; 2], name: String, source: Source) -> Option<Input> {
        let share = wilson(part, all, self.drawing.level);
        let input = self.drawing.amount(name, source, [share.low?, share.value?, share.high?]);
        Some(Input { unit: Some(InputUnit::Share), ..input })
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
        let means = self.key(&format!("minutes of {instead_of:?}"), minutes);
        let minutes = self.stated("minutes", "minutes of a cleaning", minutes);
        let change = Change::Minutes { minutes, usual, method: instead_of.clone() };
        Ok(self.of(change, places, &means, Vec::new()))
    }

    fn cleaning(
        &self,
        places: Vec<usize>,
        contrast: &Option<(String, String)>,
        odds: &Option<Stated>,
    ) -> Result<Planned, Reason> {
        let method = contrast.as_ref().map(|(_, instead_of)| instead_of.clone());
        let counted = places.iter().map(|place| self.flows.places[*place].left());
        let exits = together(counted.map(|left| left.exits(method.as_deref())));
        if course(&exits, 1.0).is_none_or(|course| course.trials <= 0.0) {
            return Err(lacking("cycles to pass: no cleaning there that was looked at after"));
        }
        let known =
            contrast.as_ref().and_then(|pair| Some((pair, self.flows.contrasts.get(pair)?)));
        // A method takes another's place once, whoever proposes it.
        let means = match (contrast, odds) {
            (Some((method, other)), _) => format!("{method} for {other}"),
            (None, Some(odds)) => self.key("odds", odds),
            (None, None) => String::new(),
        };
        let odds = match (known, odds, contrast) {
            (Some(((method, other), known)), _, _) => {
                let name = format!("odds of passing a cycle, {method} against {other}");
                self.contrast(name, known)
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
        let drawn = self.drawn_courses(&places, method.as_deref());
        let change = Change::Cleaning { odds, exits: Arc::from(exits), drawn, method };
        // By whole fleets like the demo the interval holds the truth a little less often than promised.
        Ok(self.of(change, places, &means, vec![Flag::Narrow]))
    }

    /// Odds as the fleet's own records compare the methods, by the resamples that visits are drawn by.
    fn contrast(&self, name: String, known: &Contrast) -> Input {
        let Contrast { log_odds, se, shifts } = known;
        let (sum, away) = (shifts.iter().map(|(_, shift)| shift * shift).sum::<f64>(), |draw| {
            let resample = Replicate::of(self.drawing.seed, draw);
            let more = |(cluster, shift): &(u64, f64)| {
                (f64::from(resample.weight(*cluster)) - 1.0) * shift
            };
            shifts.iter().map(more).sum::<f64>()
        });
        let spread = sum.sqrt();
        if spread <= 0.0 {
            return self.drawing.ratio(name, Source::OddsRatio, *log_odds, *se);
        }
        let draws = (0..u64::from(self.drawing.draws)).into_par_iter();
        let away: Vec<f64> = draws.map(|draw| away(draw) / spread).collect();
        // Where luck lasts longer than the weeks of the regression its error is the larger one.
        let log = (*log_odds, se.max(spread));
        self.drawing.resampled_ratio(name, Source::OddsRatio, log, &away)
    }

    /// Draw by draw how the visits of these places leave.
    fn drawn_courses(&self, places: &[usize], method: Option<&str>) -> Vec<DrawnCourse> {
        let Some(weeks) = &self.flows.visits else { return Vec::new() };
        let draw = |draw: usize| {
            let drawn = weeks.drawn(draw);
            let of_places: Vec<Left> = places.iter().map(|place| drawn.at(*place)).collect();
            DrawnCourse {
                exits: Arc::from(together(of_places.iter().map(|left| left.exits(method)))),
                rests: of_places.iter().map(|left| Resting::of(left, method)).collect(),
            }
        };
        (0..self.drawing.draws as usize).into_par_iter().map(draw).collect()
    }

    fn entry(&self, from: &str, to: &str, times: &Stated) -> Result<Planned, Reason> {
        let step = self.step(from, to)?;
        let places = self.flows.places_of(&[to.to_owned()], &self.effect.sites);
        let dirty = self.total(&places, |place| place.dirty);
        if dirty <= 0.0 {
            return Err(lacking(&format!("dirt at {to}: no first look there found any")));
        }
        // Those that pass the step and are first looked at later are found dirty there, not at this stage.
        let passing = self.total(&places, |place| self.passing(place, from));
        let means = self.key(&format!("entry from {from} to {to}"), times);
        let name = "what the hazard is multiplied by";
        let times = self.judged(Moves::FirstPass, "times", name, times)?;
        let change = Change::Entry { hazard: self.hazard(step), times, passing, dirty };
        Ok(self.of(change, places, &means, step.flags.clone()))
    }

    /// End faces that come to a place through the step from a stage before it, or from a visit at the same stage.
    fn passing(&self, place: &Place, from: &str) -> f64 {
        let at = |stage: &str| self.flows.stages.iter().position(|known| known == stage);
        let passes = |earlier: &str| match from == place.stage {
            true => earlier == from,
            false => at(earlier).is_some_and(|earlier| Some(earlier) <= at(from)),
        };
        place.passages.iter().filter(|(earlier, _)| passes(earlier)).map(|(_, count)| count).sum()
    }

    /// Carriers of each kind that is replaced, at the places where they are used.
    fn carriers(&self, share: &Stated, kinds: &[String]) -> Result<Vec<Planned>, Reason> {
        let Some(all) = &self.flows.carriers else {
            return Err(lacking("what carriers pass on"));
        };
        let is_wanted =
            |kind: &Carrier| kinds.is_empty() || kinds.iter().any(|wanted| wanted == kind.word());
        let of_kinds = DIRTY_ENDS.into_iter().chain(DIRTY_CYCLES).filter(is_wanted);
        let planned: Vec<Planned> =
            of_kinds.filter_map(|kind| self.carriers_of(all, kind, share)).collect();
        if planned.is_empty() {
            let where_used = if self.effect.sites.is_empty() { "" } else { " there" };
            return Err(lacking(&format!(
                "what carriers pass on: none of these kinds stands out{where_used}"
            )));
        }
        Ok(planned)
    }

    /// None where no carrier of the kind is used.
    fn carriers_of(&self, all: &[CarrierExcess], kind: Carrier, share: &Stated) -> Option<Planned> {
        let places = self.flows.places_of(&[], &self.effect.sites);
        let mut excess = vec![0.0; places.len()];
        let (mut variance, mut carriers) = (0.0, 0_usize);
        for one in all.iter().filter(|one| one.kind == kind) {
            let mut here = 0.0;
            for (at, place) in places.iter().enumerate() {
                let Place { site, stage, .. } = &self.flows.places[*place];
                let part = one.part_at(site, stage);
                excess[at] += one.excess * part;
                here += part;
            }
            variance += (one.se * here).powi(2);
            carriers += usize::from(here > 0.0);
        }
        let sum: f64 = excess.iter().sum();
        if carriers == 0 || sum == 0.0 {
            return None;
        }
        let (places, parts): (Vec<usize>, Vec<f64>) = places
            .into_iter()
            .zip(excess)
            .filter(|(_, excess)| *excess != 0.0)
            .map(|(place, excess)| (place, excess / sum))
            .unzip();
        let of_cycles = DIRTY_CYCLES.contains(&kind);
        let (yearly, sites) = (self.flows.yearly, &self.effect.sites);
        let what = if of_cycles { "dirty cycles" } else { "dirty ends" };
        let whose =
            if sites.is_empty() { String::new() } else { format!(" at {}", sites.join(", ")) };
        let name = format!("{what} of carriers ({}){whose} beyond others a year", kind.word());
        let se = variance.sqrt() * yearly;
        let change = Change::Carriers {
            excess: self.drawing.normal(name, Source::Carriers, sum * yearly, se),
            gone: self.share("share", "share of that dirt that goes", share),
            parts,
            of_cycles,
        };
        // By whole fleets the interval holds the truth less often than promised.
        Some(self.of(change, places, &format!("carriers: {}", kind.word()), vec![Flag::Narrow]))
    }
}

/// Exits of several places together.
fn together<'e>(places: impl Iterator<Item = &'e [Exit]>) -> Vec<Exit> {
    let mut sums: Vec<Exit> = Vec::new();
    for exits in places {
        sums.resize(sums.len().max(exits.len()), Exit::default());
        sums.iter_mut().zip(exits).for_each(|(sum, exit)| add(sum, exit, 1));
    }
    sums
}

/// What raises coverage: whoever does it, a target is reached once.
const COVERAGE: &str = "coverage";

fn hazard_of(from: &str, to: &str) -> String {
    format!("the hazard of dirt entering from {from} to {to}")
}

/// The sentence of a proposal that cannot be valued.
fn lacking(what: &str) -> Reason {
    format!("cannot be valued: the fleet has no estimate of {what}")
}
