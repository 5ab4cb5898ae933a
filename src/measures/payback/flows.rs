//! What a purchase is judged against: what flows through the fleet in a year, place by place.
//!
//! A place is a site and a stage: that is where proposals act, and where 5.5 has ratios. Money in minor
//! units, time in minutes, everything a year.

use std::collections::BTreeMap;

use crate::measures::cycles::Contrast;
use crate::measures::flag::Flag;
use crate::measures::skipped_cost::ratio::is_thin;
use crate::stats::PersonTime;
use crate::stats::binomial_sum::exact_p;
use crate::stats::shifted_odds::Exit;

/// What money goes into at a place, and can be kept out of it.
pub const POOLS: usize = 7;
/// Places in a [`Purse`].
pub mod pool {
    /// Cost of faults associated with skipped looks.
    pub const FAULTS: usize = 0;
    /// What looking at the ends not looked at would cost: a proposal that does so spends it.
    pub const LOOKS: usize = 1;
    /// Working time of cleanings.
    pub const LABOUR: usize = 2;
    /// Material of cleanings.
    pub const MATERIAL: usize = 3;
    /// Working time of the looks that close cycles.
    pub const LOOKS_AGAIN: usize = 4;
    /// Putting right rejected end faces.
    pub const REJECTS: usize = 5;
    /// What looking one stage earlier at the end faces that arrive would cost.
    pub const ARRIVALS: usize = 6;
}

/// Money a year by pool, or the share of each that a proposal keeps out.
pub type Purse = [f64; POOLS];

/// Whether what a proposal does to a pool is a gain or an expense.
pub const SIGNS: Purse = [1.0, -1.0, 1.0, 1.0, 1.0, 1.0, -1.0];

/// A site and a stage.
#[derive(Clone, Debug, Default)]
pub struct Place {
    pub site: String,
    pub stage: String,
    /// Matings of known coverage, those with both ends seen, and those skipped.
    pub known: f64,
    pub both: f64,
    pub skipped: f64,
    /// Ends of skipped matings that nobody had looked at.
    pub unseen_ends: f64,
    /// First looks of visits, and those that failed for contamination.
    pub first_looks: f64,
    pub dirty: f64,
    pub cleanings: f64,
    /// Cleanings by method; those of several methods in one cycle are in none.
    pub by_method: BTreeMap<String, f64>,
    /// How visits that began contaminated left, as counted (not a year): of all methods under the empty
    /// word, else of the method of the first cycle.
    pub exits: BTreeMap<String, Vec<Exit>>,
    /// Money by pool; that of faults and looks is in the draws.
    pub purse: Purse,
    /// Downtime of one linked fault.
    pub downtime_min: f64,
    /// Follow-up of skipped matings against both seen: linked faults, and the negative control.
    pub strata: Vec<PersonTime>,
    pub control: Vec<PersonTime>,
}

/// What 5.5 gives for one place in one draw, a year.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Skipped {
    /// Cost of the faults of skipped matings.
    pub cost: f64,
    /// The part of it that is associated with skipping.
    pub associated: f64,
    /// First linked faults associated with skipping.
    pub faults: f64,
    /// What looking would have cost.
    pub looks: f64,
}

/// Hazard of dirt entering at a step, as 5.6 has it.
#[derive(Clone, Debug, PartialEq)]
pub struct StepHazard {
    pub from: String,
    pub to: String,
    pub hazard: f64,
    pub low: f64,
    pub high: f64,
    /// End faces that passed the step, as counted in the look-back.
    pub passing: f64,
    pub flags: Vec<Flag>,
}

/// Dirt that carriers of one kind pass on beyond what others do, as counted in the look-back.
#[derive(Clone, Debug, PartialEq)]
pub struct CarrierExcess {
    pub kind: String,
    pub site: Option<String>,
    /// Dirty results beyond the expected, with the standard error.
    pub excess: f64,
    pub se: f64,
}

/// Everything that proposals are judged against.
#[derive(Clone, Debug, Default)]
pub struct FleetFlows {
    /// Stages in lifecycle order.
    pub stages: Vec<String>,
    pub places: Vec<Place>,
    /// By draw and place; as many draws as the settings ask for.
    pub skipped: Vec<Vec<Skipped>>,
    /// What counts of the look-back are multiplied by to be of a year.
    pub yearly: f64,
    /// Clusters that were resampled.
    pub clusters: u64,
    /// Minutes of a cleaning, as the settings say.
    pub cleaning_minutes: f64,
    /// By method and the method it takes the place of; only firm ones.
    pub contrasts: BTreeMap<(String, String), Contrast>,
    /// None: the review has no table of entry.
    pub entry: Option<Vec<StepHazard>>,
    /// None: the review has no table of carriers.
    pub carriers: Option<Vec<CarrierExcess>>,
    /// The cover of faults rests on a default.
    pub guessed_cover: bool,
}

impl FleetFlows {
    /// Places at these stages and sites; all where a list is empty.
    pub fn places_of(&self, stages: &[String], sites: &[String]) -> Vec<usize> {
        let wanted = |place: &Place| {
            (stages.is_empty() || stages.contains(&place.stage))
                && (sites.is_empty() || sites.contains(&place.site))
        };
        let all = self.places.iter().enumerate();
        all.filter(|(_, place)| wanted(place)).map(|(at, _)| at).collect()
    }

    /// Means over the draws, by place.
    pub fn means(&self) -> Vec<Skipped> {
        let often = self.skipped.len().max(1) as f64;
        let mut means = vec![Skipped::default(); self.places.len()];
        for draw in &self.skipped {
            for (mean, own) in means.iter_mut().zip(draw) {
                mean.cost += own.cost / often;
                mean.associated += own.associated / often;
                mean.faults += own.faults / often;
                mean.looks += own.looks / often;
            }
        }
        means
    }

    /// What a reader must know of the ratio behind the faults of these places.
    pub fn ratio_flags(&self, places: &[usize], level: f64) -> Vec<Flag> {
        let all = |of: fn(&Place) -> &Vec<PersonTime>| -> Vec<PersonTime> {
            places.iter().flat_map(|place| of(&self.places[*place])).copied().collect()
        };
        let p = exact_p(&all(|place| &place.control));
        let strata = all(|place| &place.strata);
        // Where there is no light there is no fault either, and no ratio to be thin.
        let applies = [
            (!strata.is_empty() && is_thin(&strata), Flag::Thin),
            (p.is_some_and(|p| p <= 1.0 - level), Flag::Confounded),
            (self.guessed_cover, Flag::GuessedCover),
        ];
        applies.into_iter().filter_map(|(applies, flag)| applies.then_some(flag)).collect()
    }
}
