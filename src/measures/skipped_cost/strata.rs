//! The strata of 5.5: exposed and reference follow-up of the same site, stage, family, band,
//! quarter of mating, after-fault state and criteria.

use std::collections::BTreeMap;

use super::declared::Exposure;
use super::places::{Key, Place, Places, keys};
use super::years::{Year, Years};
use crate::calendar::days_of;
use crate::derive::counts::{AfterFault, follow_up, site_weeks};
use crate::derive::{Coverage, Definition, Derived};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::stats::PersonTime;
use crate::stats::stratified_poisson::{StratifiedRow, summed};

/// One cell of follow-up at the finest grouping.
struct Line {
    place: Place,
    after_fault: bool,
    coverage: Coverage,
    /// Band, quarter and place of the criteria: the rest of the stratum.
    rest: [u32; 3],
    /// Its matings have run their horizon: money is of these.
    whole: bool,
    counts: follow_up::Row,
}

/// All follow-up of the look-back.
pub struct FollowUp {
    /// In the order of display, those of a stratum together.
    lines: Vec<Line>,
    /// Lines by the groups of every grouping, so that no cell reads the lines of the others.
    index: BTreeMap<Key, Vec<usize>>,
    /// Where the words of sites, stages and families stand.
    pub places: Places,
    /// What counts of each site are multiplied by to be of a year.
    pub years: Years,
}

/// Which lines belong to a cell.
#[derive(Clone, Debug, Default)]
pub struct Within {
    /// Site, stage or family: a group of one of the groupings that have ratios.
    pub group: Group,
    /// Matings made shortly after a fault, or the others.
    pub after_fault: bool,
}

/// What the exposed matings of a cell came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Exposed {
    /// Matings.
    pub matings: i64,
    /// Their ends that nobody had seen.
    pub unseen_ends: i64,
    /// First linked faults.
    pub faults: i64,
}

/// What the exposed matings of a cell came to, its money as of a year.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AYear {
    /// Matings, as counted.
    pub matings: i64,
    /// First linked faults, as counted.
    pub faults: i64,
    /// Minor units a year of looking at the ends that nobody had seen.
    pub looks: f64,
    /// Matings over the months of matings that have run their horizon at their site.
    a_month: f64,
    /// Matings over all months of their site's records with its faults known.
    a_recorded_month: f64,
}

impl Exposed {
    /// Adds others.
    pub fn add(&mut self, more: Exposed) {
        self.matings += more.matings;
        self.unseen_ends += more.unseen_ends;
        self.faults += more.faults;
    }
}

impl AYear {
    /// Adds the exposed matings of one site, where a look has this price, minor units.
    pub fn add(&mut self, exposed: Exposed, price: f64, year: Year) {
        self.matings += exposed.matings;
        self.faults += exposed.faults;
        self.looks += exposed.unseen_ends as f64 * price * year.looks;
        self.a_month += exposed.matings as f64 / year.months;
        self.a_recorded_month += exposed.matings as f64 / year.recorded;
    }

    /// Months of matings that the money of a year is reckoned from; none where there is nothing to reckon from.
    pub fn months(&self) -> Option<f64> {
        self.over(self.a_month)
    }

    /// Months that the records cover, whether their matings have run their horizon or not.
    pub fn recorded_months(&self) -> Option<f64> {
        self.over(self.a_recorded_month)
    }

    fn over(&self, a_month: f64) -> Option<f64> {
        (a_month > 0.0 && a_month.is_finite()).then(|| self.matings as f64 / a_month)
    }
}

impl FollowUp {
    /// Reads the look-back, cell by cell: a fleet has too many of them to read their words.
    pub fn of(evidence: &Evidence) -> FollowUp {
        let places = Places::of(&evidence.derived.glossary);
        let years = Years::of(evidence, &places);
        let mut lines: Vec<Line> = looked_back(evidence.derived)
            .map(|(cell, counts)| Line {
                place: places.place(cell.site, cell.stage, cell.family),
                after_fault: cell.after_fault == AfterFault::Yes,
                coverage: cell.coverage,
                rest: [cell.band.0, cell.quarter.0, places.criteria(cell.criteria)],
                whole: evidence.months.is_whole(cell.quarter.0),
                counts,
            })
            .collect();
        lines.sort_unstable_by_key(|line| {
            (line.place, line.after_fault, line.rest, line.coverage, line.counts)
        });
        let mut index: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        for (at, line) in lines.iter().enumerate() {
            for key in keys(line.place) {
                index.entry(key).or_default().push(at);
            }
        }
        FollowUp { lines, index, places, years }
    }

    /// The lines of a cell.
    fn within(&self, within: &Within) -> impl Iterator<Item = &Line> {
        let found = self.index.get(&self.places.key(&within.group));
        let lines = found.into_iter().flatten().map(|at| &self.lines[*at]);
        let after_fault = within.after_fault;
        lines.filter(move |line| line.after_fault == after_fault)
    }

    /// The strata of a cell: faults and days at risk of the exposed and of the matings with both
    /// ends seen.
    pub fn strata(
        &self,
        within: &Within,
        exposure: Exposure,
        definition: Definition,
    ) -> Vec<PersonTime> {
        let mut strata: Vec<PersonTime> = Vec::new();
        let mut before: Option<(Place, [u32; 3])> = None;
        for line in self.within(within) {
            let Some(is_exposed) = exposure.side(line.coverage) else { continue };
            let Some((faults, seconds)) = line.counts.first_faults(definition) else { continue };
            let stratum = (line.place, line.rest);
            if before != Some(stratum) {
                before = Some(stratum);
                strata.push(PersonTime::default());
            }
            if let Some(stratum) = strata.last_mut() {
                add_side(stratum, is_exposed, faults, seconds);
            }
        }
        strata
    }

    /// What a ratio of a cell rests on: the events of its rows with their numbers at risk; without rows, the strata.
    pub fn events(
        &self,
        rows: &[StratifiedRow],
        within: &Within,
        exposure: Exposure,
        definition: Definition,
    ) -> Vec<PersonTime> {
        match rows.is_empty() {
            true => self.strata(within, exposure, definition),
            false => summed(rows),
        }
    }

    /// Totals of the exposed matings of a cell that have run their horizon, by their places.
    pub fn exposed(&self, within: &Within, exposure: Exposure) -> BTreeMap<Place, Exposed> {
        let mut totals: BTreeMap<Place, Exposed> = BTreeMap::new();
        let is_exposed = |line: &&Line| exposure.side(line.coverage) == Some(true);
        for line in self.within(within).filter(is_exposed).filter(|line| line.whole) {
            totals.entry(line.place).or_default().add(Exposed {
                matings: line.counts.started,
                unseen_ends: line.counts.unseen_ends,
                faults: line.counts.linked,
            });
        }
        totals
    }
}

/// Adds faults and seconds at risk of one side to a stratum.
pub fn add_side(stratum: &mut PersonTime, is_exposed: bool, faults: i64, seconds: i64) {
    let (faults, days) = (faults.max(0) as u64, days_of(seconds));
    if is_exposed {
        stratum.d1 += faults;
        stratum.t1 += days;
    } else {
        stratum.d0 += faults;
        stratum.t0 += days;
    }
}

/// The cells of follow-up whose matings were made in the look-back.
pub fn looked_back(
    derived: &Derived,
) -> impl Iterator<Item = (follow_up::Key, follow_up::Row)> + '_ {
    let back = &derived.period.look_back;
    let is_back = |cell: &follow_up::Key| back.contains(&derived.calendar.quarter(cell.quarter.0));
    derived.counts.followed.follow_up.cells().into_iter().filter(move |(cell, _)| is_back(cell))
}

/// Of follow-up what the tables of site-weeks and of variants count, of linked faults.
pub fn linked(counts: &follow_up::Row) -> site_weeks::Row {
    site_weeks::Row {
        started: counts.started,
        unseen_ends: counts.unseen_ends,
        faults: counts.linked,
        seconds: counts.linked_s,
    }
}
