//! Takes an effect of the settings to the flows of a fleet: which places, which numbers, what is lacking.

mod carriers;
mod cleaning;
mod entry;
mod looks;

use super::declared::{InputUnit, Source};
use super::effect::{Change, Planned};
use super::flows::{FleetFlows, Place};
use super::input::{Drawing, Input};
use crate::measures::actions::Moves;
use crate::measures::draw_name::draw_name;
use crate::measures::flag::Flag;
use crate::settings::{Effect, EffectKind, Proposal, Stated};
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
    pub(super) fn of(
        &self,
        change: Change,
        places: Vec<usize>,
        means: &str,
        mut flags: Vec<Flag>,
    ) -> Planned {
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
    pub(super) fn key(&self, what: &str, stated: &Stated) -> String {
        let Stated { low, likely, high } = stated;
        format!("{what}, {low} {likely} {high}, {}", self.scope())
    }

    /// A stated number.
    pub(super) fn stated(&self, what: &str, name: &str, stated: &Stated) -> Input {
        self.drawing.stated(&self.key(what, stated), name.to_owned(), stated)
    }

    /// A number as it is stated, or as an action of the same kind had it here before.
    pub(super) fn judged(
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
    pub(super) fn share(&self, what: &str, name: &str, stated: &Stated) -> Input {
        Input { unit: Some(InputUnit::Share), ..self.stated(what, name, stated) }
    }

    pub(super) fn total(&self, places: &[usize], of: impl Fn(&Place) -> f64) -> f64 {
        places.iter().map(|place| of(&self.flows.places[*place])).sum()
    }

    /// A share as counted; none of nothing.
    pub(super) fn counted_share(
        &self,
        [part, all]: [f64; 2],
        name: String,
        source: Source,
    ) -> Option<Input> {
        let share = wilson(part, all, self.drawing.level);
        let input = self.drawing.amount(name, source, [share.low?, share.value?, share.high?]);
        Some(Input { unit: Some(InputUnit::Share), ..input })
    }
}

/// The sentence of a proposal that cannot be valued.
pub(super) fn lacking(what: &str) -> Reason {
    format!("cannot be valued: the fleet has no estimate of {what}")
}
