//! Histories of cleaning in many resamples of site-weeks: the weights of some resamples are drawn once for all groups, and
//! a group's counts are added up for these side by side.

use rayon::prelude::*;

use super::stopping_cells::{AtCycle, CYCLES, Cleanings, History};
use crate::stats::bootstrap::Replicate;

/// Resamples that are added up side by side: their sums stay in the cache.
const BESIDE: usize = 16;
/// Figures of a cycle.
const FIGURES: usize = 4;

/// Counts of one cycle in one site-week of a group.
struct Part {
    cluster: u32,
    cycle: u32,
    counts: [u32; FIGURES],
}

/// By cycle and figure: a sum for each resample.
type Sums = [[[u64; BESIDE]; FIGURES]; CYCLES];

/// Groups whose site-weeks are drawn together.
pub(super) struct Drawn {
    /// Names of all site-weeks, rising.
    clusters: Vec<u64>,
    groups: Vec<Vec<Part>>,
}

impl Drawn {
    /// Of these groups.
    pub fn of<'a>(groups: impl Iterator<Item = &'a Cleanings> + Clone) -> Drawn {
        let mut clusters: Vec<u64> =
            groups.clone().flat_map(|group| group.clusters.iter().copied()).collect();
        clusters.sort_unstable();
        clusters.dedup();
        let parts = |group: &Cleanings| {
            let place = |name: &u64| clusters.partition_point(|known| known < name) as u32;
            let places: Vec<u32> = group.clusters.iter().map(place).collect();
            let part = |(cluster, cycle, at): (usize, usize, AtCycle)| Part {
                cluster: places[cluster],
                cycle: cycle as u32,
                counts: [at.made, at.passed, at.rejected, at.left]
                    .map(|count| u32::try_from(count).unwrap_or(u32::MAX)),
            };
            group.parts().map(part).collect()
        };
        let groups = groups.map(parts).collect();
        Drawn { clusters, groups }
    }

    /// By group and replicate: what `of` makes of its history. The same whatever threads there are.
    pub fn outcomes<O: Send>(
        &self,
        (seed, replicates): (u64, u64),
        of: impl Fn(&History) -> O + Sync,
    ) -> Vec<Vec<O>> {
        let blocks = replicates.div_ceil(BESIDE as u64);
        let block = |block: u64| {
            let first = block * BESIDE as u64;
            let wanted = (replicates - first).min(BESIDE as u64) as usize;
            let weights = self.weights(seed, first);
            let outcomes = |parts: &Vec<Part>| -> Vec<O> {
                let sums = sums(parts, &weights);
                (0..wanted).map(|lane| of(&history(&sums, lane))).collect()
            };
            self.groups.iter().map(outcomes).collect()
        };
        let found: Vec<Vec<Vec<O>>> = (0..blocks).into_par_iter().map(block).collect();
        let mut by_group: Vec<Vec<O>> =
            self.groups.iter().map(|_| Vec::with_capacity(replicates as usize)).collect();
        for (all, more) in found.into_iter().flat_map(|block| block.into_iter().enumerate()) {
            by_group[all].extend(more);
        }
        by_group
    }

    /// How often each site-week enters each of the replicates from `first` on; at most twenty times.
    fn weights(&self, seed: u64, first: u64) -> Vec<[u8; BESIDE]> {
        let drawn: [Replicate; BESIDE] =
            std::array::from_fn(|lane| Replicate::of(seed, first + lane as u64));
        let weights = |cluster: &u64| drawn.map(|replicate| replicate.weight(*cluster) as u8);
        self.clusters.iter().map(weights).collect()
    }
}

fn sums(parts: &[Part], weights: &[[u8; BESIDE]]) -> Sums {
    let mut sums = [[[0; BESIDE]; FIGURES]; CYCLES];
    for part in parts {
        let times = weights[part.cluster as usize].map(u64::from);
        let at = &mut sums[part.cycle as usize];
        for (sums, count) in at.iter_mut().zip(part.counts).filter(|(_, count)| *count > 0) {
            for (sum, times) in sums.iter_mut().zip(times) {
                *sum += times * u64::from(count);
            }
        }
    }
    sums
}

fn history(sums: &Sums, lane: usize) -> History {
    sums.map(|figures| {
        let [made, passed, rejected, left] = figures.map(|of| of[lane]);
        AtCycle { made, passed, rejected, left }
    })
}
