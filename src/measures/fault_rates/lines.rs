//! Faults and time of sites by week, stage and family, as the scatter of blocks is worked out of them (5.4).

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use super::declared::{Block, By, Certainty};
use crate::derive::counts::{Band, Family, QuarterNo, Site, Stage, WeekNo};
use crate::derive::{Definition, Listing};
use crate::measures::evidence::Evidence;
use crate::stats::{Part, Scatter, lasting, scatter};

/// Where a line stands: places of site, stage and family in the order of display. What a count table
/// does not tell apart is 0 in all of its lines.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct At {
    quarter: u32,
    site: u32,
    week: u32,
    stage: u32,
    family: u32,
    band: u32,
}

impl At {
    /// The words of a grouping that it belongs to, by their places.
    pub fn places(&self, by: By) -> Vec<u32> {
        match by {
            By::Fleet => vec![],
            By::Stage => vec![self.stage],
            By::Family => vec![self.family],
            By::StageFamily => vec![self.stage, self.family],
            By::Site => vec![self.site],
            By::Quarter => vec![self.quarter],
        }
    }

    /// Its block of its site's time; a block belongs to one quarter where quarters are told apart, and lines by the horizon
    /// are of one quarter.
    fn block(&self, block: Block) -> [u32; 3] {
        let within = if block == Block::Quarter { 0 } else { block.of_week(self.week) };
        [self.quarter, self.site, within]
    }

    /// Number of its stage, family and band.
    pub fn stratum(&self) -> u64 {
        [self.stage, self.family, self.band]
            .into_iter()
            .fold(0, |sum, place| (sum << 20) | u64::from(place))
    }
}

/// First faults and seconds to them or to the end, by [`Certainty::ALL`].
type Counts = [(i64, i64); Certainty::ALL.len()];

/// Lines in the making.
pub struct Lines {
    sites: Listing,
    stages: Listing,
    families: Listing,
    found: BTreeMap<At, Counts>,
    /// Else weeks were too many to be kept: all of a site is one block.
    by_week: bool,
}

impl Lines {
    fn of(evidence: &Evidence) -> Lines {
        let glossary = &evidence.derived.glossary;
        let (sites, stages) = (Listing::of(&glossary.site), Listing::of(&glossary.stage));
        let families = Listing::of(&glossary.family);
        Lines { sites, stages, families, found: BTreeMap::new(), by_week: true }
    }

    /// Matings in force in some quarters.
    pub fn in_force(evidence: &Evidence, counts: impl Fn(QuarterNo) -> bool) -> Lines {
        let rates = &evidence.derived.counts.rates;
        let mut lines = Lines::of(evidence);
        for (cell, row) in rates.force_weeks.cells() {
            if counts(cell.quarter) {
                let WeekNo(week) = cell.week;
                let at = At { quarter: cell.quarter.0, week, ..At::default() };
                let place = (cell.site, cell.stage, cell.family);
                lines.add(at, place, |definition| row.first_faults(definition));
            }
        }
        if lines.found.is_empty() {
            for (cell, row) in rates.in_force.cells() {
                if counts(cell.quarter) {
                    let at = At { quarter: cell.quarter.0, ..At::default() };
                    let place = (cell.site, cell.stage, cell.family);
                    lines.add(at, place, |definition| row.first_faults(definition));
                }
            }
            lines.by_week = lines.found.is_empty();
        }
        lines
    }

    /// Matings of the period.
    pub fn by_horizon(evidence: &Evidence) -> Lines {
        let counts = &evidence.derived.counts;
        let mut lines = Lines::of(evidence);
        for (cell, row) in counts.rates.follow_weeks.cells() {
            let (WeekNo(week), Band(band)) = (cell.week, cell.band);
            let at = At { week, band, ..At::default() };
            let place = (cell.site, cell.stage, cell.family);
            lines.add(at, place, |definition| row.first_faults(definition));
        }
        if lines.found.is_empty() {
            for (cell, row) in counts.followed.follow_up.cells() {
                if evidence.is_reviewed(cell.quarter) {
                    let Band(band) = cell.band;
                    let place = (cell.site, cell.stage, cell.family);
                    let at = At { band, ..At::default() };
                    lines.add(at, place, |definition| row.first_faults(definition));
                }
            }
            lines.by_week = lines.found.is_empty();
        }
        lines
    }

    /// Adds a row of a count table; `at` says the rest of where it stands.
    fn add(
        &mut self,
        at: At,
        (site, stage, family): (Site, Stage, Family),
        faults: impl Fn(Definition) -> Option<(i64, i64)>,
    ) {
        let (site, stage) = (self.sites.place(site.0), self.stages.place(stage.0));
        let at = At { site, stage, family: self.families.place(family.0), ..at };
        let sums = self.found.entry(at).or_default();
        for (sum, level) in sums.iter_mut().zip(Certainty::ALL) {
            let (faults, seconds) = faults(level.definition()).unwrap_or_default();
            *sum = (sum.0.saturating_add(faults), sum.1.saturating_add(seconds));
        }
    }

    /// The lines with the numbers of their blocks, in the order of these.
    pub fn blocks(&self, block: Block) -> Vec<Line> {
        let mut lines: Vec<Line> = Vec::with_capacity(self.found.len());
        let mut cluster = 0;
        let mut before: Option<[u32; 3]> = None;
        for (at, counts) in &self.found {
            let place = at.block(block);
            cluster += u64::from(before.is_some_and(|before| before != place));
            before = Some(place);
            lines.push(Line { at: *at, cluster, counts: *counts });
        }
        lines
    }

    /// The length of blocks as a row may state it.
    pub fn stated(&self, block: Block) -> Option<Block> {
        self.by_week.then_some(block)
    }

    /// How long the luck of sites lasts: by scatter about each site's own rates, since sites that differ are no luck.
    fn lasting(&self, evidence: &Evidence) -> usize {
        let mut strata: FxHashMap<(u32, u64), u64> = FxHashMap::default();
        let mut scatter_of = |block: &Block| {
            let within = |line: Line| {
                let (of_site, next) = ((line.at.site, line.at.stratum()), strata.len() as u64);
                let stratum = *strata.entry(of_site).or_insert(next);
                Part { stratum, ..line.part(Certainty::Linked) }
            };
            scatter(&self.blocks(*block).into_iter().map(within).collect::<Vec<Part>>())
        };
        let scatters: Vec<Scatter> = Block::ALL.iter().map(&mut scatter_of).collect();
        lasting(&scatters, evidence.rules().few_clusters.into())
    }
}

/// How long the luck of sites lasts, by all quarters whose weeks in force are kept: the period and those that it is compared
/// with. Worked out once for all questions.
pub fn luck(evidence: &Evidence) -> Block {
    Block::ALL[evidence.luck(|| Lines::in_force(evidence, |_| true).lasting(evidence))]
}

/// How many blocks there are, of lines in the order of [`Lines::blocks`].
pub fn count(lines: &[Line]) -> u64 {
    lines.last().map_or(0, |line| line.cluster + 1)
}

/// Faults and time of one block, stage, family and band.
pub struct Line {
    /// Where it stands.
    pub at: At,
    /// Number of its block.
    pub cluster: u64,
    counts: Counts,
}

impl Line {
    /// As the scatter takes it.
    pub fn part(&self, certainty: Certainty) -> Part {
        let (faults, seconds) = self.counts[certainty as usize];
        Part {
            cluster: self.cluster,
            stratum: self.at.stratum(),
            events: faults.max(0) as u64,
            exposure: seconds.max(0) as f64,
        }
    }
}
