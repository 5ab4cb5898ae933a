//! Less dirt that enters at a step.

use super::{Preparing, Reason, lacking};
use crate::measures::actions::Moves;
use crate::measures::payback::declared::Source;
use crate::measures::payback::effect::{Change, Planned};
use crate::measures::payback::flows::{Place, StepHazard};
use crate::measures::payback::input::Input;
use crate::settings::Stated;

impl Preparing<'_> {
    /// A step as 5.6 has it.
    pub(super) fn step(&self, from: &str, to: &str) -> Result<&StepHazard, Reason> {
        let steps = self.flows.entry.as_deref().unwrap_or_default();
        let step = steps.iter().find(|step| step.from == from && step.to == to);
        step.ok_or_else(|| lacking(&hazard_of(from, to)))
    }

    pub(super) fn hazard(&self, step: &StepHazard) -> Input {
        let name = hazard_of(&step.from, &step.to);
        self.drawing.amount(name, Source::Entry, [step.low, step.hazard, step.high])
    }

    pub(super) fn entry(&self, from: &str, to: &str, times: &Stated) -> Result<Planned, Reason> {
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
}

pub(super) fn hazard_of(from: &str, to: &str) -> String {
    format!("the hazard of dirt entering from {from} to {to}")
}
