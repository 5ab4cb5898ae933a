//! What a purchase is judged against: what flows through the fleet in a year, place by place.
//!
//! A place is a site and a stage: that is where proposals act, and where 5.5 has ratios. Money in minor
//! units, time in minutes, everything a year.

use std::collections::BTreeMap;

use super::purse::Purse;
use super::visits::{Left, VisitWeeks};
use crate::measures::actions::Moves;
use crate::measures::carriers::Carrier;
use crate::measures::cycles::Contrast;
use crate::measures::flag::Flag;
use crate::measures::skipped_cost::ratio::is_thin;
use crate::stats::PersonTime;
use crate::stats::binomial_sum::scattered_p;
use crate::stats::shifted_odds::Exit;

/// Ends of one family that come to be mated at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Arriving {
    /// The stage before.
    pub stage: String,
    /// Their family.
    pub family: String,
    /// How many a year: all ends by the families of first looks.
    pub ends: f64,
    /// What a look at one would cost a stage earlier, minor units.
    pub price: f64,
}

/// A site and a stage.
#[derive(Clone, Debug, Default)]
pub struct Place {
    /// Its site.
    pub site: String,
    /// Its stage.
    pub stage: String,
    /// Matings of known coverage.
    pub known: f64,
    /// Matings with both ends seen.
    pub both: f64,
    /// Matings with an end unseen.
    pub skipped: f64,
    /// Ends of skipped matings that nobody had looked at.
    pub unseen_ends: f64,
    /// First looks of visits.
    pub first_looks: f64,
    /// First looks that failed for contamination.
    pub dirty: f64,
    /// Routine passages of end faces that end here, by the stage that they come from.
    pub passages: BTreeMap<String, f64>,
    /// Ends of matings.
    pub mated_ends: f64,
    /// The same, as counted (not a year).
    pub counted_ends: f64,
    /// Those that were looked at one stage earlier and not mated since, as counted.
    pub looked_before: f64,
    /// Cleanings of visits.
    pub cleanings: f64,
    /// The part of them that was of end faces that were clean.
    pub on_clean: f64,
    /// Cleanings by method; those of several methods in one cycle are in none.
    pub by_method: BTreeMap<String, f64>,
    /// How visits that began contaminated left, as counted (not a year): before the first cycle, then cycle by cycle.
    pub exits: Vec<Exit>,
    /// The same of visits by the method of their first cycle.
    pub exits_by_method: BTreeMap<String, Vec<Exit>>,
    /// Looks one stage earlier at all of these ends, by family; they are what the pool of arrivals is the money of.
    pub arrivals: Vec<Arriving>,
    /// Clean end faces that a cleaning by the method soiled, so that more cycles followed, for each visit that began with a
    /// look (as counted, not a year).
    pub soiled: BTreeMap<String, f64>,
    /// Money by pool; that of faults and looks is in the draws.
    pub purse: Purse,
    /// Tickets of the linked faults of skipped matings, in all the months looked back.
    pub tickets: f64,
    /// Those that state no price.
    pub unpriced: f64,
    /// Downtime of one linked fault, minutes.
    pub downtime_min: f64,
    /// Follow-up of skipped matings against both seen: linked faults.
    pub strata: Vec<PersonTime>,
    /// The same follow-up: faults that dirt cannot produce.
    pub control: Vec<PersonTime>,
}

impl Place {
    /// Clean end faces that cleanings of a method, or of all, soiled; and those of all.
    pub fn soiled_by(&self, method: Option<&str>) -> [f64; 2] {
        let all = self.soiled.values().sum();
        let own = method.map(|method| self.soiled.get(method).copied().unwrap_or(0.0));
        [own.unwrap_or(all), all]
    }

    /// How visits left, as counted.
    pub fn left(&self) -> Left<'_> {
        let by_method = self.exits_by_method.iter();
        let by_method = by_method.map(|(method, exits)| (method.as_str(), exits.as_slice()));
        Left { all: &self.exits, by_method: by_method.collect() }
    }
}

/// What 5.5 gives for one place in one draw, a year.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Skipped {
    /// Cost of the faults of skipped matings, minor units.
    pub cost: f64,
    /// The part of it that is associated with skipping, minor units.
    pub associated: f64,
    /// First linked faults associated with skipping.
    pub faults: f64,
    /// What looking would have cost, minor units.
    pub looks: f64,
    /// By what part more cleanings there are in a year than were counted.
    pub busier: f64,
    /// By what part more of the visits that began contaminated end with the end face rejected than were counted.
    pub rejects: f64,
}

/// Hazard of dirt entering at a step, as 5.6 has it.
#[derive(Clone, Debug, PartialEq)]
pub struct StepHazard {
    /// Stage before the step.
    pub from: String,
    /// Stage after it.
    pub to: String,
    /// Hazard of one passage.
    pub hazard: f64,
    /// Lower end of its interval.
    pub low: f64,
    /// Upper end of its interval.
    pub high: f64,
    /// What a reader must know of it.
    pub flags: Vec<Flag>,
}

/// Dirt that a carrier passes on beyond what others do, as counted in the look-back.
#[derive(Clone, Debug, PartialEq)]
pub struct CarrierExcess {
    /// Kind of carrier.
    pub kind: Carrier,
    /// Where it was used: site, stage, and the part of its trials that were there.
    pub used: Vec<(String, String, f64)>,
    /// Dirty results beyond the expected.
    pub excess: f64,
    /// Its standard error downwards.
    pub below: f64,
    /// Its standard error upwards.
    pub above: f64,
}

impl CarrierExcess {
    /// The part of its trials that were at a site and stage.
    pub fn part_at(&self, site: &str, stage: &str) -> f64 {
        let here = self.used.iter().filter(|(at, of, _)| at == site && of == stage);
        here.map(|(_, _, part)| part).sum()
    }
}

/// What went with an action here before.
#[derive(Clone, Debug, PartialEq)]
pub struct Experience {
    /// Its name.
    pub action: String,
    /// What it moved: the share skipped, of cycles that pass, or of ends clean on arrival.
    pub moves: Moves,
    /// Lower limit, value and upper limit of what a proposal of its kind is judged by: the share with both ends seen that it led
    /// to, the factor on the odds of passing a cycle, the factor on the hazard of dirt.
    pub range: [f64; 3],
}

/// Everything that proposals are judged against.
#[derive(Clone, Debug, Default)]
pub struct FleetFlows {
    /// Stages in lifecycle order.
    pub stages: Vec<String>,
    /// Sites and stages in the order of display.
    pub places: Vec<Place>,
    /// By draw and place; as many draws as the settings ask for.
    pub skipped: Vec<Vec<Skipped>>,
    /// How visits left, cluster by cluster: what they are drawn from; none: they are taken as counted.
    pub visits: Option<VisitWeeks>,
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
    /// Of actions that have an estimate.
    pub experiences: Vec<Experience>,
    /// None: the review has no table of carriers.
    pub carriers: Option<Vec<CarrierExcess>>,
    /// The cover of faults rests on a default.
    pub guessed_cover: bool,
    /// Most of the fleet's faults state no price.
    pub unpriced: bool,
    /// Share of tickets without a price above which money is flagged.
    pub unpriced_limit: f64,
    /// Scatter of the negative control's faults over clusters, over that of chance.
    pub control_scatter: f64,
    /// More than a tenth of the matings are left out, since their names stand apart from those of looks.
    pub names_apart: bool,
    /// The records cover less than a year.
    pub short_history: bool,
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
            for (mean, drawn) in means.iter_mut().zip(draw) {
                mean.cost += drawn.cost / often;
                mean.associated += drawn.associated / often;
                mean.faults += drawn.faults / often;
                mean.looks += drawn.looks / often;
                mean.busier += drawn.busier / often;
                mean.rejects += drawn.rejects / often;
            }
        }
        means
    }

    /// Whether any fault at these places goes with skipping in any draw.
    pub fn has_associated(&self, places: &[usize]) -> bool {
        let any = |one: &Skipped| one.associated != 0.0 || one.faults != 0.0;
        let drawn = |draw: &Vec<Skipped>| places.iter().filter_map(|at| draw.get(*at)).any(any);
        self.skipped.iter().any(drawn)
    }

    /// What a reader must know of the ratio behind the faults of these places.
    pub fn ratio_flags(&self, places: &[usize], level: f64) -> Vec<Flag> {
        let all = |of: fn(&Place) -> &Vec<PersonTime>| -> Vec<PersonTime> {
            places.iter().flat_map(|place| of(&self.places[*place])).copied().collect()
        };
        let p = scattered_p(&all(|place| &place.control), self.control_scatter);
        let strata = all(|place| &place.strata);
        let sum = |of: fn(&Place) -> f64| places.iter().map(|place| of(&self.places[*place])).sum();
        let (unpriced, tickets): (f64, f64) =
            (sum(|place| place.unpriced), sum(|place| place.tickets));
        let unpriced = self.unpriced || unpriced > self.unpriced_limit * tickets;
        // Where there is no light there is no fault either, and no ratio to be thin.
        let applies = [
            (!strata.is_empty() && is_thin(&strata), Flag::Thin),
            (p.is_some_and(|p| p <= 1.0 - level), Flag::Confounded),
            (self.guessed_cover, Flag::GuessedCover),
            (unpriced, Flag::Unpriced),
            (self.names_apart, Flag::NamesApart),
        ];
        applies.into_iter().filter_map(|(applies, flag)| applies.then_some(flag)).collect()
    }
}
