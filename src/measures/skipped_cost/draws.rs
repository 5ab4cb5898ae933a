//! Money of skipped inspections in a thousand resamples of clusters (5.5): site-weeks, or longer blocks where luck lasts
//! longer (`site_weeks`).
//!
//! A cluster enters a replicate a Poisson number of times, with all its faults, costs and unseen
//! ends; so costs, looks and the ratio of one replicate belong together. The ratio is solved again
//! with the score of the resampled clusters; that of a cell under a prior whose mean and spread are
//! drawn from what all cells say of them. What tickets do not state of their price is put in by the
//! means of the resample. Weights hang on seed, replicate and cluster alone, and what a cell's prior is drawn by
//! on its words: threads and order change nothing. Prices of looks are not resampled.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::declared::{By, Exposure};
use super::look_price::LookPrices;
use super::places::{ByKey, Key, key_of};
use super::site_weeks::SiteWeeks;
use crate::measures::prices::{Sums, Tariff};
use crate::stats::bootstrap::uniform;
use crate::stats::random_effects::RandomEffects;
use crate::stats::stratified_poisson::{StratifiedRow, cluster_scores};
use crate::stats::tilted::{Balance, NormalPrior, tilted_log};

/// Replicates of every bootstrap of money.
pub const REPLICATES: u64 = 1000;
/// What tells the draws of a prior from the weights of the same seed.
const PRIOR_STREAM: u64 = 0x5072_696f_7273;

/// Money of one cell in one replicate, minor units a year.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Money {
    /// Associated with the exposure; none where there is no ratio.
    pub attributable: Option<f64>,
    /// Cost of the looks not made.
    pub looks: f64,
    /// Cost of the exposed matings' faults; none where nothing is known of prices.
    pub cost: Option<f64>,
    /// First linked faults a year that are associated with the exposure; 0 where there is no ratio.
    pub faults: f64,
}

impl Money {
    /// What the looks would have saved.
    pub fn net(&self) -> Option<f64> {
        self.attributable.map(|attributable| attributable - self.looks)
    }
}

/// Money of one cluster in one cell, minor units a year, and its faults.
#[derive(Clone, Copy, Default)]
struct Purse {
    /// What tickets state.
    stated: f64,
    looks: f64,
    faults: f64,
}

/// One cell: what is resampled of it.
#[derive(Default)]
pub struct DrawnCell {
    /// What it is drawn by.
    name: u64,
    purses: Vec<(u32, Purse)>,
    /// By cluster and group of prices: tickets that do not state all of theirs.
    gaps: Vec<((u32, u32), Sums)>,
    /// Clusters with follow-up on either side.
    pub clusters: u64,
    scores: Vec<(u32, f64)>,
    ratio: Option<Ratio>,
}

/// Where the log ratio of a cell is solved again.
struct Ratio {
    /// The strata, from the log ratio on that the scores are taken at.
    balance: Balance,
    /// What the reported log ratio is more.
    offset: f64,
}

impl DrawnCell {
    /// The money of the cells of a grouping, of matings that have run their horizon, by the places of their groups.
    pub fn by_group(
        site_weeks: &SiteWeeks,
        by: By,
        exposure: Exposure,
        prices: &LookPrices,
    ) -> BTreeMap<Key, DrawnCell> {
        DrawnCell::by_parts(site_weeks, by.parts(), exposure, prices)
    }

    /// The same by these of site, stage and family.
    pub fn by_parts(
        site_weeks: &SiteWeeks,
        parts: [bool; 3],
        exposure: Exposure,
        prices: &LookPrices,
    ) -> BTreeMap<Key, DrawnCell> {
        let places = &site_weeks.places;
        let mut found: ByKey<Found> = ByKey::default();
        let mut priced: BTreeMap<(u32, u32), f64> = BTreeMap::new();
        for line in &site_weeks.lines {
            let Some(is_exposed) = exposure.side(line.coverage) else { continue };
            let cell = found.at(key_of(line.place, parts));
            if cell.clusters.last() != Some(&line.cluster) {
                cell.clusters.push(line.cluster);
            }
            if is_exposed && line.whole && (line.unseen_ends != 0 || line.faults != 0) {
                let [site, stage, family] = line.place;
                let year = site_weeks.years.at(site);
                let price = priced
                    .entry((stage, family))
                    .or_insert_with(|| prices.price(places.stage(stage), places.family(family)));
                let purse = Purse {
                    stated: 0.0,
                    looks: line.unseen_ends as f64 * *price * year.looks,
                    faults: line.faults as f64 * year.faults,
                };
                cell.purses.push((line.cluster, purse));
            }
        }
        let priced_lines = site_weeks.prices.lines.iter().zip(&site_weeks.priced_in);
        for ((line, cluster), _) in
            priced_lines.zip(&site_weeks.whole_prices).filter(|(_, whole)| **whole)
        {
            let side = line.coverage.and_then(|coverage| exposure.side(coverage));
            if side != Some(true) {
                continue;
            }
            let cell = found.at(key_of(line.place, parts));
            let [site, ..] = line.place;
            let times = site_weeks.years.at(site).faults;
            let stated = Purse { stated: line.sums.stated * times, ..Purse::default() };
            cell.purses.push((*cluster, stated));
            if line.sums.has_gaps() {
                cell.gaps.entry((*cluster, line.group)).or_default().add(&line.sums, times);
            }
        }
        let finish = |key: Key, found: Found| {
            let Found { purses, gaps, mut clusters } = found;
            clusters.sort_unstable();
            clusters.dedup();
            DrawnCell {
                name: places.drawn_as(key),
                purses: summed_purses(purses),
                gaps: gaps.into_iter().collect(),
                clusters: clusters.len() as u64,
                ..DrawnCell::default()
            }
        };
        found.all().map(|(key, found)| (key, finish(key, found))).collect()
    }

    /// With the reported ratio of its rows; none where there is none. Without a `prior` to come the
    /// replicates go by the shift from the estimate of the rows alone.
    pub fn with_ratio(&mut self, rows: &[StratifiedRow], ratio: Option<f64>, prior: bool) {
        let Some(log) = ratio.map(f64::ln).filter(|log| log.is_finite()) else { return };
        let (strata, _) = cluster_scores(rows, log);
        let at = if prior { log } else { tilted_log(&strata, 0.0, log, None) };
        let (strata, scores) = cluster_scores(rows, at);
        let resampled = |(cluster, score)| Some((u32::try_from(cluster).ok()?, score));
        self.scores = scores.into_iter().filter_map(resampled).collect();
        self.ratio = Some(Ratio { balance: Balance::of(&strata, at), offset: log - at });
    }

    /// `tariff` puts in what tickets do not state; none where all state everything.
    fn money(&self, weights: &[u8], tariff: Option<&Tariff>, prior: Option<NormalPrior>) -> Money {
        let weight = |cluster: &u32| f64::from(weights[*cluster as usize]);
        let mut sum = Purse::default();
        for (cluster, purse) in &self.purses {
            sum.stated += weight(cluster) * purse.stated;
            sum.looks += weight(cluster) * purse.looks;
            sum.faults += weight(cluster) * purse.faults;
        }
        let mut cost = Some(sum.stated);
        for ((cluster, group), sums) in
            self.gaps.iter().filter(|((cluster, _), _)| weights[*cluster as usize] > 0)
        {
            let put_in = tariff.and_then(|tariff| tariff.put_in(*group, sums));
            cost = cost.zip(put_in).map(|(cost, put_in)| cost + weight(cluster) * put_in);
        }
        let share = self.ratio.as_ref().map(|ratio| {
            let more = |(cluster, score): &(u32, f64)| (weight(cluster) - 1.0) * score;
            let tilt: f64 = self.scores.iter().map(more).sum();
            let log = ratio.balance.tilted_log(tilt, prior) + ratio.offset;
            -(-log).exp_m1()
        });
        Money {
            attributable: share.zip(cost).map(|(share, cost)| cost * share),
            looks: sum.looks,
            cost,
            faults: share.map_or(0.0, |share| sum.faults * share),
        }
    }
}

/// A cell while it is put together.
#[derive(Default)]
struct Found {
    /// A cluster may be there several times.
    purses: Vec<(u32, Purse)>,
    gaps: BTreeMap<(u32, u32), Sums>,
    /// Likewise.
    clusters: Vec<u32>,
}

/// Purses by cluster, those of one added up in their order.
fn summed_purses(mut purses: Vec<(u32, Purse)>) -> Vec<(u32, Purse)> {
    purses.sort_by_key(|(cluster, _)| *cluster);
    purses.dedup_by(|(next, more), (kept, sum)| {
        if next == kept {
            sum.stated += more.stated;
            sum.looks += more.looks;
            sum.faults += more.faults;
        }
        next == kept
    });
    purses.shrink_to_fit();
    purses
}

/// Money of every cell by replicate. With `shared`, each replicate draws the cells' common mean and
/// spread, and each cell whether it stands apart, and the mean of its prior.
pub fn draw(
    cells: &[&DrawnCell],
    site_weeks: &SiteWeeks,
    shared: Option<&RandomEffects>,
    often: (u64, u64),
) -> Vec<Vec<Money>> {
    draw_of(cells, site_weeks, shared, often, |money| money)
}

/// The same, of which only what `pick` takes is kept: for many cells all of it is large.
pub fn draw_of<T: Send>(
    cells: &[&DrawnCell],
    site_weeks: &SiteWeeks,
    shared: Option<&RandomEffects>,
    (seed, replicates): (u64, u64),
    pick: impl Fn(Money) -> T + Sync,
) -> Vec<Vec<T>> {
    let has_gaps = cells.iter().any(|cell| !cell.gaps.is_empty());
    (0..replicates)
        .into_par_iter()
        .map(|replicate| {
            let weights = site_weeks.weights((seed, replicates), replicate);
            let tariff =
                has_gaps.then(|| site_weeks.tariff((seed, replicates), replicate, &weights));
            // The first two numbers of the stream are the spread's and the mean's.
            let number = |at: u64| uniform(seed ^ PRIOR_STREAM, replicate, at);
            let mut next = 0;
            let common = shared.and_then(|effects| {
                effects.draw_shared(&mut || {
                    next += 1;
                    number(next - 1)
                })
            });
            let cell = |(place, cell): (usize, &&DrawnCell)| {
                let prior = shared
                    .zip(common)
                    .map(|(effects, common)| effects.drawn_prior(place, common, number(cell.name)));
                pick(cell.money(&weights, tariff.as_deref(), prior))
            };
            cells.iter().enumerate().map(cell).collect()
        })
        .collect()
}
