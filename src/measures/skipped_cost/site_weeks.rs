//! The follow-up of 5.5 by the week of the mating: rows for regressions and resampling.
//!
//! Lines are in the order of display, whatever the codes of the words: sums of times depend on
//! their order. Where there were too many site-weeks the site is the cluster. Stops at matings not
//! made after a fault.

use std::collections::BTreeMap;

use super::look_price::LookPrices;
use crate::derive::{Coverage, Names};
use crate::measures::draw_name::site_week;
use crate::measures::evidence::Evidence;
use crate::measures::table::Group;
use crate::stats::stratified_poisson::StratifiedRow;

const SECONDS_PER_DAY: f64 = 86_400.0;

/// Places of a site, a stage and a family in the order of display.
pub type Place = [u32; 3];

/// Follow-up of one coverage in one stratum and cluster.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    pub place: Place,
    /// Number of site, stage, family, band, quarter and criteria.
    pub stratum: u32,
    /// Place in [`SiteWeeks::clusters`].
    pub cluster: u32,
    pub coverage: Coverage,
    pub unseen_ends: i64,
    /// First linked faults.
    pub faults: u64,
    /// Time at risk.
    pub days: f64,
    /// Minor units, all linked faults.
    pub cost: i64,
}

/// All of the look-back.
pub struct SiteWeeks {
    pub lines: Vec<Line>,
    /// What stands for each cluster in a draw, whatever else is there.
    pub clusters: Vec<u64>,
    pub strata: usize,
    /// Clusters are site-weeks; else sites.
    pub by_week: bool,
    places: [Words; 3],
}

/// Places of one list of words.
struct Words {
    names: Names,
    places: Vec<u32>,
}

impl Words {
    fn of((names, given): &(Names, usize)) -> Words {
        Words { names: names.clone(), places: names.places(*given) }
    }

    fn place(&self, code: u32) -> u32 {
        self.places.get(code as usize).copied().unwrap_or(u32::MAX)
    }

    fn word(&self, place: u32) -> &str {
        let code = self.places.iter().position(|own| *own == place);
        code.map_or("", |code| self.names.word(code as u32))
    }
}

/// A cell of either count table: week, quarter, site, stage, family, criteria, coverage, band;
/// then unseen ends, faults, seconds, cost.
type Raw = ([u32; 8], [i64; 4]);

impl SiteWeeks {
    /// Reads the count tables.
    pub fn of(evidence: &Evidence) -> SiteWeeks {
        let glossary = &evidence.derived.glossary;
        let places = [&glossary.site, &glossary.stage, &glossary.family].map(Words::of);
        let criteria = Words::of(&glossary.criteria);
        let counts = &evidence.derived.counts.followed.site_weeks;
        let by_week = !counts.is_empty();
        let mut raw = if by_week { weekly(evidence) } else { by_site(evidence) };
        for (cell, _) in &mut raw {
            for (at, words) in [2, 3, 4].into_iter().zip(&places) {
                cell[at] = words.place(cell[at]);
            }
            cell[5] = criteria.place(cell[5]);
        }
        // Strata together, in them weeks, in them classes.
        raw.sort_unstable_by_key(
            |([week, quarter, site, stage, family, criteria, class, band], _)| {
                [*site, *stage, *family, *criteria, *quarter, *band, *week, *class]
            },
        );
        let mut known: BTreeMap<u64, u32> =
            raw.iter().map(|(cell, _)| (cluster(cell), 0)).collect();
        for (number, place) in (0..).zip(known.values_mut()) {
            *place = number;
        }
        let (lines, strata) = lines(&raw, &known);
        let clusters = known.into_keys().map(|cluster| drawn_as(cluster, &places[0])).collect();
        SiteWeeks { lines, clusters, strata, by_week, places }
    }

    /// The place of a group; `None` for what it does not name.
    pub fn place(&self, group: &Group) -> [Option<u32>; 3] {
        let words = [&group.site, &group.stage, &group.family];
        let mut places = [None; 3];
        for ((place, word), words) in places.iter_mut().zip(words).zip(&self.places) {
            *place =
                word.as_ref().map(|word| words.place(words.names.find(word).unwrap_or(u32::MAX)));
        }
        places
    }

    /// The price of a look at a stage and family by their places.
    pub fn price(&self, prices: &LookPrices, stage: u32, family: u32) -> f64 {
        prices.price(self.places[1].word(stage), self.places[2].word(family))
    }

    /// Rows of a regression: lines of strata with a fault, by the groups of `columns`.
    pub fn by_group(
        &self,
        columns: &[&str],
        exposed: &[&str],
    ) -> BTreeMap<[Option<u32>; 3], Vec<StratifiedRow>> {
        let told = self.told(exposed);
        let mut groups: BTreeMap<[Option<u32>; 3], Vec<StratifiedRow>> = BTreeMap::new();
        for line in self.lines.iter().filter(|line| told[line.stratum as usize]) {
            let Some(is_exposed) = line.side(exposed) else { continue };
            groups.entry(key(line.place, columns)).or_default().push(StratifiedRow {
                stratum: line.stratum.into(),
                cluster: line.cluster.into(),
                exposed: is_exposed,
                events: line.faults,
                time: line.days,
            });
        }
        groups
    }

    /// By stratum: whether it has a fault of either side. The others say nothing of a ratio.
    pub fn told(&self, exposed: &[&str]) -> Vec<bool> {
        let mut told = vec![false; self.strata];
        for line in self.lines.iter().filter(|line| line.side(exposed).is_some()) {
            told[line.stratum as usize] |= line.faults > 0;
        }
        told
    }
}

/// The key of a line under a grouping.
pub fn key(place: Place, columns: &[&str]) -> [Option<u32>; 3] {
    let mut key = [None; 3];
    for ((key, place), column) in key.iter_mut().zip(place).zip(["site", "stage", "family"]) {
        *key = columns.contains(&column).then_some(place);
    }
    key
}

impl Line {
    /// Whether it is of the exposed; `None` where it is of neither side.
    pub fn side(&self, exposed: &[&str]) -> Option<bool> {
        let word = Coverage::WORDS[self.coverage as usize];
        if exposed.contains(&word) {
            Some(true)
        } else {
            (self.coverage == Coverage::Both).then_some(false)
        }
    }
}

fn weekly(evidence: &Evidence) -> Vec<Raw> {
    let cells = evidence.derived.counts.followed.site_weeks.coded();
    cells.into_iter().map(|(cell, sums)| (cell, [sums[1], sums[2], sums[3], sums[4]])).collect()
}

/// From the follow-up without weeks, which counts every quarter.
fn by_site(evidence: &Evidence) -> Vec<Raw> {
    let calendar = &evidence.derived.calendar;
    let back = &evidence.derived.period.look_back;
    let cells = evidence.derived.counts.followed.follow_up.coded().into_iter();
    let wanted =
        cells.filter(|(cell, _)| cell[5] == 0 && back.contains(&calendar.quarter(cell[0])));
    let raw = |([quarter, site, stage, family, criteria, _, class, band], sums): (
        [u32; 8],
        [i64; 14],
    )| {
        let cell = [0, quarter, site, stage, family, criteria, class, band];
        (cell, [sums[1], sums[2], sums[3], sums[12]])
    };
    wanted.map(raw).collect()
}

fn cluster(cell: &[u32; 8]) -> u64 {
    (u64::from(cell[2]) << 32) | u64::from(cell[0])
}

/// What a cluster is to the draws: its site's name and its week, whatever other sites there are.
fn drawn_as(cluster: u64, sites: &Words) -> u64 {
    site_week(sites.word((cluster >> 32) as u32), cluster as u32)
}

fn lines(raw: &[Raw], known: &BTreeMap<u64, u32>) -> (Vec<Line>, usize) {
    let stratum_of = |cell: &[u32; 8]| [cell[2], cell[3], cell[4], cell[5], cell[1], cell[7]];
    let mut strata = 0;
    let mut lines = Vec::with_capacity(raw.len());
    for (at, (cell, [unseen_ends, faults, seconds, cost])) in raw.iter().enumerate() {
        let same = at > 0 && stratum_of(&raw[at - 1].0) == stratum_of(cell);
        strata += usize::from(!same);
        let Some(coverage) = Coverage::ALL.get(cell[6] as usize) else { continue };
        lines.push(Line {
            place: [cell[2], cell[3], cell[4]],
            stratum: strata as u32 - 1,
            cluster: known.get(&cluster(cell)).copied().unwrap_or(0),
            coverage: *coverage,
            unseen_ends: *unseen_ends,
            faults: (*faults).max(0) as u64,
            days: (*seconds).max(0) as f64 / SECONDS_PER_DAY,
            cost: *cost,
        });
    }
    (lines, strata)
}
