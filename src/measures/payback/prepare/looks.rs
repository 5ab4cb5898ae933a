//! Looks that are made where they are skipped now: before matings, or one stage earlier.

use super::{Preparing, Reason, lacking};
use crate::measures::actions::Moves;
use crate::measures::payback::declared::{InputUnit, Source};
use crate::measures::payback::effect::{Change, Planned};
use crate::measures::payback::flows::Place;
use crate::measures::payback::input::Input;
use crate::settings::Stated;

impl Preparing<'_> {
    pub(super) fn coverage(&self, places: Vec<usize>, share: &Stated) -> Result<Planned, Reason> {
        if self.total(&places, |place| place.known) <= 0.0 {
            return Err(lacking("coverage: no mating of known coverage there"));
        }
        let reached = self.judged(Moves::Skipped, "coverage", "coverage reached", share)?;
        let reached = Input { unit: Some(InputUnit::Share), ..reached };
        Ok(self.of(Change::Coverage { reached }, places, COVERAGE, Vec::new()))
    }

    /// Looks at a stage that now skips them. Where ends are mated there they are looked at before that; else on
    /// arrival, and what that finds does not reach the next stage.
    pub(super) fn inspection(&self, stage: &String, share: &Stated) -> Result<Planned, Reason> {
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
}

/// What raises coverage: whoever does it, a target is reached once.
const COVERAGE: &str = "coverage";
