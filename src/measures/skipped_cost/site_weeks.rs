//! The follow-up of 5.5 by the week of the mating: rows for regressions and resampling.
//!
//! Clusters are weeks of a site, or longer blocks where luck lasts longer (5.4). Lines are in the order
//! of display, whatever the codes of the words: sums of times depend on their order. Where there were
//! too many site-weeks the site is the cluster. Stops at matings not made after a fault.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::declared::{By, Exposure};
use super::places::{Key, Place, Places, key_of};
use super::risk_sets::RiskSets;
use super::strata::{linked, looked_back};
use super::years::Years;
use crate::calendar::days_of;
use crate::derive::counts::{AfterFault, WeekNo, follow_up, site_weeks};
use crate::derive::{Coverage, Definition};
use crate::measures::draw_name::site_week;
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates::{Block, luck};
use crate::measures::months::Months;
use crate::measures::prices::{self, PriceBook, Tariff};
use crate::stats::bootstrap::Replicate;
use crate::stats::stratified_poisson::StratifiedRow;

/// Follow-up of one coverage in one stratum and cluster.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    /// Where its site, stage and family stand.
    pub place: Place,
    /// Number of site, stage, family, band, quarter and criteria.
    pub stratum: u32,
    /// Place in [`SiteWeeks::clusters`].
    pub cluster: u32,
    /// What was seen of the ends of its matings.
    pub coverage: Coverage,
    /// Its matings have run their horizon: money is of these.
    pub whole: bool,
    /// Matings, in the line of the band in which their follow-up begins.
    pub started: i64,
    /// Ends of these that nobody had seen.
    pub unseen_ends: i64,
    /// First linked faults.
    pub faults: u64,
    /// Time at risk.
    pub days: f64,
}

/// Seed and number of replicates, and what is kept of them.
type OfReplicates<T> = ((u64, u64), Vec<T>);

/// All of the look-back.
pub struct SiteWeeks<'a> {
    /// In the order of display.
    pub lines: Vec<Line>,
    /// What stands for each cluster in a draw, whatever else is there.
    pub clusters: Vec<u64>,
    /// How many strata there are.
    pub strata: usize,
    /// Clusters are blocks of a site as long as luck lasts (5.4), by the week of the mating; none: sites.
    pub block: Option<Block>,
    /// Where the words of sites, stages and families stand.
    pub places: Places,
    /// Who was at risk at each fault.
    pub risk_sets: RiskSets,
    /// What counts of each site are multiplied by to be of a year.
    pub years: Years,
    /// Prices of the linked faults.
    pub prices: &'a PriceBook,
    /// By line of the prices, the place of its cluster in [`SiteWeeks::clusters`].
    pub priced_in: Vec<u32>,
    /// By line of the prices, whether its matings have run their horizon.
    pub whole_prices: Vec<bool>,
    /// Of the resampling that asked first: seed, number of replicates, weights replicate by replicate.
    weights: OnceLock<OfReplicates<u8>>,
    /// Of the same, replicate by replicate, as they are asked for.
    tariffs: OnceLock<OfReplicates<OnceLock<Tariff>>>,
}

/// Weights that are kept, bytes: of a thousand replicates those of 60,000 clusters.
const MOST_WEIGHTS: usize = 60_000_000;

/// Means of prices that are kept: some 60 MB.
const MOST_MEANS: usize = 1_000_000;

/// A cell of follow-up, its words at their places of display. The order of the fields is that of the lines:
/// strata together, in them weeks, in them coverage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Counted {
    stratum: Stratum,
    /// The block, counted from the calendar's first; 0 where the site is the cluster.
    week: u32,
    coverage: Coverage,
    counts: site_weeks::Row,
}

/// What follow-up is compared within.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Stratum {
    place: Place,
    criteria: u32,
    quarter: u32,
    band: u32,
}

/// A site's place and a week.
type Cluster = (u32, u32);

impl Counted {
    fn cluster(&self) -> Cluster {
        let [site, ..] = self.stratum.place;
        (site, self.week)
    }

    fn of(places: &Places, cell: site_weeks::Key, counts: site_weeks::Row) -> Counted {
        let stratum = Stratum {
            place: places.place(cell.site, cell.stage, cell.family),
            criteria: places.criteria(cell.criteria),
            quarter: cell.quarter.0,
            band: cell.band.0,
        };
        Counted { stratum, week: cell.week.0, coverage: cell.coverage, counts }
    }
}

/// A cell of follow-up as one of site-weeks where the site is the cluster.
fn without_week(
    (cell, counts): (follow_up::Key, follow_up::Row),
) -> (site_weeks::Key, site_weeks::Row) {
    let follow_up::Key { quarter, site, stage, family, criteria, coverage, band, .. } = cell;
    let week = WeekNo(0);
    let cell = site_weeks::Key { week, quarter, site, stage, family, criteria, coverage, band };
    (cell, linked(&counts))
}

impl<'a> SiteWeeks<'a> {
    /// Reads the count tables, cell by cell: a fleet has too many of them to read their words.
    pub fn of(evidence: &'a Evidence) -> SiteWeeks<'a> {
        let derived = evidence.derived;
        let places = Places::of(&derived.glossary);
        let weeks = &derived.counts.followed.site_weeks;
        let block = (!weeks.is_empty()).then(|| luck(evidence));
        let of_week = |week: u32| block.map_or(0, |block: Block| block.of_week(week));
        let cells = if block.is_some() {
            weeks.cells()
        } else {
            // The follow-up without weeks counts matings made after a fault, too.
            let usual = looked_back(derived).filter(|(cell, _)| cell.after_fault == AfterFault::No);
            usual.map(without_week).collect()
        };
        let counted = cells.into_iter().map(|(cell, counts)| Counted {
            week: of_week(cell.week.0),
            ..Counted::of(&places, cell, counts)
        });
        let mut counted: Vec<Counted> = counted.collect();
        counted.sort_unstable();
        let mut numbers: BTreeMap<Cluster, u32> =
            counted.iter().map(|counted| (counted.cluster(), 0)).collect();
        for (number, at) in (0..).zip(numbers.values_mut()) {
            *at = number;
        }
        let (lines, strata) = lines(&counted, &numbers, &evidence.months);
        // What a cluster is to the draws: its site's name and its week, whatever other sites there are.
        let drawn_as = |(site, week): Cluster| site_week(places.site(site), week);
        let prices = evidence.prices();
        // A line of prices is of matings that a line of follow-up counts, too.
        let cluster = |line: &prices::Line| {
            let [site, ..] = line.place;
            numbers.get(&(site, of_week(line.time))).copied().unwrap_or(0)
        };
        // Matings of no cluster that is resampled: those made after a fault.
        let other = |(site, week): Cluster| 1 << 63 | u64::from(site) << 32 | u64::from(week);
        let numbered = |site: u32, week: u32| {
            let cluster = (site, of_week(week));
            numbers.get(&cluster).map_or_else(|| other(cluster), |number| u64::from(*number))
        };
        let risk_sets = RiskSets::of(evidence, &places, &numbered);
        let priced_in = prices.lines.iter().map(cluster).collect();
        let is_whole = |line: &prices::Line| evidence.months.is_whole(line.quarter);
        let whole_prices = prices.lines.iter().map(is_whole).collect();
        let clusters = numbers.into_keys().map(drawn_as).collect();
        let years = Years::of(evidence, &places);
        let (weights, tariffs) = (OnceLock::new(), OnceLock::new());
        SiteWeeks {
            lines,
            clusters,
            strata,
            block,
            places,
            risk_sets,
            years,
            prices,
            priced_in,
            whole_prices,
            weights,
            tariffs,
        }
    }

    /// How often each cluster enters a replicate. Drawn once for all cells where there is room for them.
    pub fn weights(&self, (seed, replicates): (u64, u64), replicate: u64) -> Cow<'_, [u8]> {
        // At most twenty: see `stats::bootstrap`.
        let draw = |replicate: u64| {
            let drawn = Replicate::of(seed, replicate);
            self.clusters.iter().map(move |cluster| drawn.weight(*cluster) as u8)
        };
        let count = self.clusters.len();
        if count.saturating_mul(replicates as usize) > MOST_WEIGHTS {
            return draw(replicate).collect();
        }
        let (of, kept) = self.weights.get_or_init(|| {
            let mut kept = Vec::with_capacity(count * replicates as usize);
            (0..replicates).for_each(|replicate| kept.extend(draw(replicate)));
            ((seed, replicates), kept)
        });
        if *of != (seed, replicates) || replicate >= replicates {
            return draw(replicate).collect();
        }
        Cow::Borrowed(&kept[replicate as usize * count..][..count])
    }

    /// The means of prices in a replicate, in which the clusters count so many times. Worked out once for all cells where
    /// there is room for them.
    pub fn tariff(&self, often: (u64, u64), replicate: u64, weights: &[u8]) -> Cow<'_, Tariff> {
        let made =
            || self.prices.resampled(|line| f64::from(weights[self.priced_in[line] as usize]));
        let (of, kept) = self.tariffs.get_or_init(|| {
            let is_small = self.prices.means().saturating_mul(often.1 as usize) <= MOST_MEANS;
            let kept = if is_small { often.1 } else { 0 };
            (often, (0..kept).map(|_| OnceLock::new()).collect())
        });
        match kept.get(replicate as usize).filter(|_| *of == often) {
            Some(kept) => Cow::Borrowed(kept.get_or_init(made)),
            None => Cow::Owned(made()),
        }
    }

    /// Rows of a regression by the groups of a grouping: who was at risk at each linked fault of matings not made after
    /// one, or, where that was given up, lines of strata with a fault.
    pub fn by_group(&self, by: By, exposure: Exposure) -> BTreeMap<Key, Vec<StratifiedRow>> {
        self.by_parts(by.parts(), exposure)
    }

    /// The same by these of site, stage and family.
    pub fn by_parts(
        &self,
        parts: [bool; 3],
        exposure: Exposure,
    ) -> BTreeMap<Key, Vec<StratifiedRow>> {
        if !self.risk_sets.is_empty() {
            return self.risk_sets.by_parts(parts, exposure, Definition::Linked, false);
        }
        let has_fault = self.strata_with_faults(exposure);
        let mut groups: BTreeMap<Key, Vec<StratifiedRow>> = BTreeMap::new();
        for line in self.lines.iter().filter(|line| has_fault[line.stratum as usize]) {
            let Some(is_exposed) = exposure.side(line.coverage) else { continue };
            groups.entry(key_of(line.place, parts)).or_default().push(StratifiedRow {
                stratum: u64::from(line.stratum) << 32,
                cluster: line.cluster.into(),
                exposed: is_exposed,
                events: line.faults as f64,
                time: line.days,
            });
        }
        groups
    }

    /// By stratum: whether it has a fault of either side. The others say nothing of a ratio.
    fn strata_with_faults(&self, exposure: Exposure) -> Vec<bool> {
        let mut found = vec![false; self.strata];
        for line in self.lines.iter().filter(|line| exposure.side(line.coverage).is_some()) {
            found[line.stratum as usize] |= line.faults > 0;
        }
        found
    }
}

/// The lines, and how many strata they are of.
fn lines(
    counted: &[Counted],
    numbers: &BTreeMap<Cluster, u32>,
    months: &Months,
) -> (Vec<Line>, usize) {
    let mut lines = Vec::with_capacity(counted.len());
    let mut strata = 0;
    for of_stratum in counted.chunk_by(|a, b| a.stratum == b.stratum) {
        lines.extend(of_stratum.iter().map(|counted| Line {
            place: counted.stratum.place,
            stratum: strata as u32,
            cluster: numbers.get(&counted.cluster()).copied().unwrap_or(0),
            coverage: counted.coverage,
            whole: months.is_whole(counted.stratum.quarter),
            started: counted.counts.started,
            unseen_ends: counted.counts.unseen_ends,
            faults: counted.counts.faults.max(0) as u64,
            days: days_of(counted.counts.seconds),
        }));
        strata += 1;
    }
    (lines, strata)
}
