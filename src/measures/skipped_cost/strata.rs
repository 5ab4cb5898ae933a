//! The strata of 5.5: exposed and reference follow-up of the same site, stage, family, band,
//! quarter of mating, after-fault state and criteria.

use std::collections::BTreeMap;

use crate::derive::counts::Counted;
use crate::derive::{Definition, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::table::Group;
use crate::stats::PersonTime;

const BY: &[&str] =
    &["site", "stage", "family", "after_fault", "coverage", "band", "quarter", "criteria"];
const SECONDS_PER_DAY: f64 = 86_400.0;

/// Which matings count as exposed, by their coverage.
pub const EXPOSURES: [(&str, &[&str]); 4] = [
    ("skipped", &["one", "none"]),
    ("one", &["one"]),
    ("none", &["none"]),
    ("despite-fail", &["despite-fail"]),
];

/// One cell of follow-up at the finest grouping.
struct Line {
    /// Places of site, stage and family.
    place: Place,
    stage: String,
    family: String,
    after_fault: bool,
    coverage: String,
    /// Band, quarter and criteria: the rest of the stratum.
    rest: [u32; 3],
    sums: Vec<i64>,
}

/// Places of a site, a stage and a family in the order of display; none for all of them.
type Place = [Option<u32>; 3];

/// All follow-up of the look-back.
pub struct FollowUp {
    lines: Vec<Line>,
    /// Lines by every grouping of [`WAYS`], so that no cell reads the lines of the others.
    index: BTreeMap<Place, Vec<usize>>,
    /// Places of the words of site, stage and family.
    words: [BTreeMap<String, u32>; 3],
}

/// Which of site, stage and family a grouping names.
const WAYS: [[bool; 3]; 6] = [
    [false, false, false],
    [false, true, false],
    [false, false, true],
    [true, false, false],
    [false, true, true],
    [true, true, false],
];

/// Which lines belong to a cell.
#[derive(Clone, Debug, Default)]
pub struct Within {
    /// Site, stage or family; one of the groupings of [`WAYS`].
    pub group: Group,
    pub after_fault: bool,
}

/// What the exposed matings of a cell came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Exposed {
    pub matings: i64,
    pub unseen_ends: i64,
    /// First linked faults.
    pub faults: i64,
    /// Minor units, all linked faults.
    pub cost: i64,
}

impl FollowUp {
    /// Reads the look-back.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &Evidence) -> Result<FollowUp, DeriveError> {
        let figures = <crate::derive::counts::FollowUp as Counted>::ABOUT.figures;
        let sums: Vec<&str> = figures.iter().map(|figure| figure.name).collect();
        let cells = evidence.cells("follow_up", &evidence.look_back(), BY, &sums)?;
        let mut words: [BTreeMap<String, u32>; 3] = Default::default();
        let mut index: BTreeMap<Place, Vec<usize>> = BTreeMap::new();
        let mut lines = Vec::with_capacity(cells.len());
        for cell in cells {
            let place = [0, 1, 2].map(|at| cell.places[at]);
            for way in WAYS {
                let key = [0, 1, 2].map(|at| way[at].then_some(place[at]));
                index.entry(key).or_default().push(lines.len());
            }
            for at in 0..3 {
                if !words[at].contains_key(&cell.group[at]) {
                    words[at].insert(cell.group[at].clone(), place[at]);
                }
            }
            let mut group = cell.group.into_iter().skip(1);
            let mut word = || group.next().unwrap_or_default();
            lines.push(Line {
                place: place.map(Some),
                stage: word(),
                family: word(),
                after_fault: word() == "yes",
                coverage: word(),
                rest: [cell.places[5], cell.places[6], cell.places[7]],
                sums: cell.sums,
            });
        }
        Ok(FollowUp { lines, index, words })
    }

    /// The lines of a cell.
    fn within<'a>(&'a self, within: &'a Within) -> impl Iterator<Item = &'a Line> {
        let group = &within.group;
        let mut key: Place = [None; 3];
        let mut known = true;
        for (at, word) in [&group.site, &group.stage, &group.family].into_iter().enumerate() {
            if let Some(word) = word {
                key[at] = self.words[at].get(word).copied();
                known &= key[at].is_some();
            }
        }
        let places = self.index.get(&key).filter(|_| known);
        let lines = places.into_iter().flatten().map(|place| &self.lines[*place]);
        lines.filter(|line| line.after_fault == within.after_fault)
    }

    /// The strata of a cell: faults and days at risk of the exposed and of the matings with both
    /// ends seen. `definition` is a place in `Definition::ALL`.
    pub fn strata(&self, within: &Within, exposed: &[&str], definition: usize) -> Vec<PersonTime> {
        let definition = definition.min(Definition::ALL.len() - 1);
        let (events, seconds) = (2 + 2 * definition, 3 + 2 * definition);
        let mut strata: BTreeMap<(Place, [u32; 3]), PersonTime> = BTreeMap::new();
        for line in self.within(within) {
            let key = (line.place, line.rest);
            let faults = line.sums[events].max(0) as u64;
            let days = line.sums[seconds].max(0) as f64 / SECONDS_PER_DAY;
            if exposed.contains(&line.coverage.as_str()) {
                let stratum = strata.entry(key).or_default();
                stratum.d1 += faults;
                stratum.t1 += days;
            } else if line.coverage == "both" {
                let stratum = strata.entry(key).or_default();
                stratum.d0 += faults;
                stratum.t0 += days;
            }
        }
        strata.into_values().collect()
    }

    /// Totals of the exposed matings of a cell, by stage and family.
    pub fn exposed<'a>(
        &'a self,
        within: &'a Within,
        exposed: &[&str],
    ) -> BTreeMap<(&'a str, &'a str), Exposed> {
        let mut totals: BTreeMap<(&str, &str), Exposed> = BTreeMap::new();
        for line in self.within(within).filter(|line| exposed.contains(&line.coverage.as_str())) {
            let total = totals.entry((&line.stage, &line.family)).or_default();
            total.matings += line.sums[0];
            total.unseen_ends += line.sums[1];
            total.faults += line.sums[2];
            total.cost = total.cost.saturating_add(line.sums[12]);
        }
        totals
    }
}
