//! How much more than chance the faults of site-weeks scatter (5.4), and what a row's interval takes of it.
//!
//! A site-week's faults are compared with what the rates of its stages and families make of its time, so
//! that a bad week of a whole site counts as one. Sites that differ scatter too: intervals of several
//! sites hold that. Where the site-weeks were too many to be kept, the site is the cluster.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::connection_months::MONTH_S;
use super::declared::{By, Certainty, Own};
use crate::derive::counts::{Band, Family, QuarterNo, Site, Stage, WeekNo};
use crate::derive::{Definition, Listing};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::stats::{Part, Scatter, scatter};

/// Where a line stands: places of site, stage and family in the order of display. What a count table
/// does not tell apart is 0 in all of its lines.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct At {
    quarter: u32,
    site: u32,
    week: u32,
    stage: u32,
    family: u32,
    band: u32,
}

impl At {
    /// The words of a grouping that it belongs to, by their places.
    fn places(&self, by: By) -> Vec<u32> {
        match by {
            By::Fleet => vec![],
            By::Stage => vec![self.stage],
            By::Family => vec![self.family],
            By::StageFamily => vec![self.stage, self.family],
            By::Site => vec![self.site],
            By::Quarter => vec![self.quarter],
        }
    }

    /// Number of its stage, family and band.
    fn stratum(&self) -> u64 {
        [self.stage, self.family, self.band]
            .into_iter()
            .fold(0, |sum, place| (sum << 20) | u64::from(place))
    }
}

/// First faults and seconds to them or to the end, by [`Certainty::ALL`].
type Counts = [(i64, i64); Certainty::ALL.len()];

/// Lines in the making.
struct Lines {
    sites: Listing,
    stages: Listing,
    families: Listing,
    found: BTreeMap<At, Counts>,
}

impl Lines {
    fn of(evidence: &Evidence) -> Lines {
        let glossary = &evidence.derived.glossary;
        let (sites, stages) = (Listing::of(&glossary.site), Listing::of(&glossary.stage));
        let families = Listing::of(&glossary.family);
        Lines { sites, stages, families, found: BTreeMap::new() }
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

    /// Lines of one quarter, site and week are a cluster.
    fn clustered(self, evidence: &Evidence) -> SiteWeekFaults {
        let mut lines: Vec<Line> = Vec::with_capacity(self.found.len());
        let mut cluster = 0;
        let mut before: Option<At> = None;
        for (at, counts) in self.found {
            let place = |at: At| (at.quarter, at.site, at.week);
            cluster += u64::from(before.is_none_or(|before| place(before) != place(at)));
            before = Some(at);
            lines.push(Line { at, cluster, counts });
        }
        // As `scatter` wants them, so that it finds every part of them in order.
        lines.sort_by_key(|line| (line.at.stratum(), line.cluster));
        let rules = evidence.rules();
        let all = Default::default();
        SiteWeekFaults { lines, all, few_clusters: rules.few_clusters.into(), level: rules.level }
    }
}

/// Faults and time of one site-week, stage, family and band.
struct Line {
    at: At,
    cluster: u64,
    counts: Counts,
}

/// The site-weeks of some quarters.
pub(in crate::measures) struct SiteWeekFaults {
    lines: Vec<Line>,
    /// Scatter of all lines, once it is asked for.
    all: [OnceLock<Scatter>; Certainty::ALL.len()],
    few_clusters: u64,
    level: f64,
}

/// The over-dispersion of every row of a grouping.
pub(in crate::measures) struct Spreads {
    of: BTreeMap<Vec<u32>, Scatter>,
    all: Scatter,
    few_clusters: u64,
    level: f64,
}

/// What a row's interval takes.
#[derive(Clone, Copy, Debug)]
pub(in crate::measures) struct Spread {
    /// By how much variances are multiplied, not below 1.
    pub phi: f64,
    /// Chance of as much scatter without clustering; of the row's own site-weeks.
    pub p: Option<f64>,
    /// Site-weeks that the over-dispersion rests on.
    pub clusters: u64,
    /// Not even all rows together have enough of them.
    pub few: bool,
}

impl Spread {
    /// What a row says of it; `seconds` of time are behind the row's rate, 0 where it has none.
    pub fn own(&self, level: Certainty, seconds: i64) -> Own {
        Own {
            months: (seconds > 0).then_some(seconds as f64 / MONTH_S),
            phi: Some(self.phi).filter(|phi| phi.is_finite()),
            p: self.p.filter(|p| p.is_finite()),
            clusters: Some(self.clusters),
            ..Own::with(level)
        }
    }

    /// The flag it stands for.
    pub fn flag(&self) -> Option<Flag> {
        self.few.then_some(Flag::FewClusters)
    }
}

impl SiteWeekFaults {
    /// Matings in force in some quarters, by the week of their time.
    pub fn in_force(evidence: &Evidence, counts: impl Fn(QuarterNo) -> bool) -> Self {
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
        }
        lines.clustered(evidence)
    }

    /// Matings of the period, by the week in which they were made.
    pub fn by_horizon(evidence: &Evidence) -> Self {
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
        }
        lines.clustered(evidence)
    }

    /// Over-dispersion of the rows of a grouping.
    pub fn spreads(&self, by: By, certainty: Certainty) -> Spreads {
        let all = *self.all[certainty as usize].get_or_init(|| {
            let all: Vec<Part> = self.lines.iter().map(|line| line.part(certainty)).collect();
            scatter(&all)
        });
        let of = match by {
            By::Fleet if self.lines.is_empty() => BTreeMap::new(),
            By::Fleet => BTreeMap::from([(Vec::new(), all)]),
            _ => self.by_groups(by, certainty),
        };
        Spreads { of, all, few_clusters: self.few_clusters, level: self.level }
    }

    fn by_groups(&self, by: By, certainty: Certainty) -> BTreeMap<Vec<u32>, Scatter> {
        let mut groups: BTreeMap<Vec<u32>, Vec<Part>> = BTreeMap::new();
        for line in &self.lines {
            let places = line.at.places(by);
            let part = line.part(certainty);
            match groups.get_mut(places.as_slice()) {
                Some(parts) => parts.push(part),
                None => drop(groups.insert(places, vec![part])),
            }
        }
        groups.into_iter().map(|(key, parts)| (key, scatter(&parts))).collect()
    }

    /// That of all rows together.
    pub fn of_all(&self, certainty: Certainty) -> (Scatter, Spread) {
        self.spreads(By::Fleet, certainty).all()
    }
}

impl Line {
    fn part(&self, certainty: Certainty) -> Part {
        let (faults, seconds) = self.counts[certainty as usize];
        Part {
            cluster: self.cluster,
            stratum: self.at.stratum(),
            events: faults.max(0) as u64,
            exposure: seconds.max(0) as f64,
        }
    }
}

impl Spreads {
    /// That of all rows together.
    pub fn all(&self) -> (Scatter, Spread) {
        (self.all, self.taken(&self.all))
    }

    /// That of one row by its places: its own where it has enough site-weeks and a fault, else that of all.
    pub fn of(&self, places: &[u32]) -> Spread {
        let own = self
            .of
            .get(places)
            .filter(|own| own.clusters >= self.few_clusters && own.phi.is_some());
        self.taken(own.unwrap_or(&self.all))
    }

    fn taken(&self, scatter: &Scatter) -> Spread {
        Spread {
            phi: scatter.widened(self.level).unwrap_or(1.0),
            p: scatter.phi.map(|_| scatter.p),
            clusters: scatter.clusters,
            few: self.all.clusters > 0 && self.all.clusters < self.few_clusters,
        }
    }
}
