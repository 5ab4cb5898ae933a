//! Posterior density of the log ratio of one cell, its shared mean and spread integrated over.
//!
//! Promises a smooth density also where the spread is far smaller than the distance between the means of
//! the grid. Stops at one cell.

use super::bell::Spacing;
use super::cell_likelihood::{HIGHEST, LOWEST};
use super::hyper_grid::Slice;
use super::prior::{APART_BY, Cell, MU_END, Parts, Prior};
use crate::stats::special::density::{DENSITY_POINTS, Density, around, cubic_through, end_weight};

/// Spacing of means, in spreads, above which their normals no longer blend into each other.
const BLENDED: f64 = 1.2;
/// The same where the prior cuts the means off: there the end weights need a finer spacing.
const BLENDED_AT_END: f64 = 0.3;
/// Nodes of a narrow normal, and how many of its deviations they reach: 1e-6 lies outside.
const NORMAL_NODES: usize = 12;
const NORMAL_REACH: f64 = 5.0;

/// A mean whose posterior is this far below the highest on the log scale is left out: under 1e-9 of it.
const NEGLIGIBLE: f64 = 21.0;

/// Likelihood of the cell times the priors of all means and spreads, each by its share of the posterior
/// and over its own product with the likelihood; and the probability that the cell stands apart.
pub(super) fn cell_density(cell: &Cell, slices: &[Slice]) -> (Density, f64) {
    let parts = |slice: &Slice| -> Vec<Parts> {
        let nodes = cell.likelihood.under(slice.tau);
        slice.priors.iter().map(|prior| prior.times(cell, nodes)).collect()
    };
    let parts: Vec<Vec<Parts>> = slices.iter().map(parts).collect();
    let Shared { mean, variance, apart } = shared(slices, &parts);
    let (lo, hi) = around(mean, variance, LOWEST, HIGHEST);
    let step = (hi - lo) / (DENSITY_POINTS - 1) as f64;
    let near = others(slices, &parts, 0);
    let far = others(slices, &parts, 1);
    let apart_by = AllMeans::of(slices, &far);
    let top = highest(slices, &near, lo, hi).max(apart_by.highest(lo, hi));
    let floor =
        slices.iter().flat_map(|s| &s.log).copied().fold(f64::NEG_INFINITY, f64::max) - NEGLIGIBLE;
    let kept = |slice: &Slice, others: &[f64]| -> Vec<f64> {
        let kept = |(l, o): (&f64, &f64)| if *l < floor { f64::NEG_INFINITY } else { *o };
        slice.log.iter().zip(others).map(kept).collect()
    };
    let mut height = vec![0.0; DENSITY_POINTS];
    for (slice, others) in slices.iter().zip(&near) {
        let end = slice.lo + slice.step * (others.len() - 1) as f64;
        let cut = slice.lo <= -MU_END || end >= MU_END - 1e-9;
        let blended = if cut { BLENDED_AT_END } else { BLENDED };
        let overlap = mean > slice.lo && mean < end;
        if slice.step > blended * slice.tau && overlap {
            add_narrow(&mut height, slice, others, top, lo, step);
        } else {
            add_wide(&mut height, slice, &kept(slice, others), top, lo, step);
        }
    }
    apart_by.add(&mut height, top, lo, step);
    for (i, h) in height.iter_mut().enumerate() {
        *h *= cell.likelihood.log_at(lo + step * i as f64).exp();
    }
    (Density::new(lo, hi, height), apart)
}

/// Width of the bins in which the means of cells that stand apart are put together: a hundredth of the width
/// of their normal.
const BIN: f64 = 0.015;

/// What all slices say of the mean of the normal of cells that stand apart: it is the same whatever the spread
/// of the others.
struct AllMeans {
    /// Log of a factor common to all weights.
    log: f64,
    /// Weights of means from -4 on.
    weights: Vec<f64>,
}

impl AllMeans {
    fn of(slices: &[Slice], others: &[Vec<f64>]) -> AllMeans {
        let log = others.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut weights = vec![0.0; (2.0 * MU_END / BIN) as usize + 2];
        for (slice, others) in slices.iter().zip(others) {
            for (j, mu) in slice.means().enumerate() {
                let weight = (others[j] - log).exp() * slice.step * end_weight(j, others.len());
                let place = (mu.clamp(-MU_END, MU_END) + MU_END) / BIN;
                let at = (place as usize).min(weights.len() - 2);
                let beyond = place - at as f64;
                weights[at] += (1.0 - beyond) * weight;
                weights[at + 1] += beyond * weight;
            }
        }
        AllMeans { log, weights }
    }

    fn means(&self) -> impl Iterator<Item = (f64, f64)> {
        let at = |(j, weight): (usize, &f64)| (-MU_END + BIN * j as f64, *weight);
        self.weights.iter().enumerate().map(at).filter(|(_, weight)| *weight > 0.0)
    }

    /// As the free function: the highest log weight, less what it loses on the way to the range.
    fn highest(&self, lo: f64, hi: f64) -> f64 {
        let at = |(mu, _): (f64, f64)| {
            let gap = (mu.clamp(lo, hi) - mu) / APART_BY;
            self.log - 0.5 * gap * gap
        };
        self.means().map(at).fold(f64::NEG_INFINITY, f64::max)
    }

    fn add(&self, height: &mut [f64], top: f64, lo: f64, step: f64) {
        let spacing = Spacing::of(step, APART_BY);
        for (mu, weight) in self.means() {
            spacing.add_bell(height, lo, mu, (weight / APART_BY, self.log - top));
        }
    }
}

/// What the other cells say of each mean, and the prior of a part: the posterior over the cell's own part of
/// it, logs.
fn others(slices: &[Slice], parts: &[Vec<Parts>], part: usize) -> Vec<Vec<f64>> {
    let slice = |(slice, parts): (&Slice, &Vec<Parts>)| {
        let less = |((log, own), prior): ((&f64, &Parts), &Prior)| {
            log - own.log_mass + prior.log_weights[part]
        };
        slice.log.iter().zip(parts).zip(&slice.priors).map(less).collect()
    };
    slices.iter().zip(parts).map(slice).collect()
}

/// Of one cell, the shared parameters integrated over.
struct Shared {
    mean: f64,
    variance: f64,
    apart: f64,
}

/// Mean and variance of the cell's log ratio, and the probability that it stands apart.
fn shared(slices: &[Slice], parts: &[Vec<Parts>]) -> Shared {
    let top = slices.iter().map(|s| s.log_mass).fold(f64::NEG_INFINITY, f64::max);
    let mut sums = [0.0; 4];
    for (slice, parts) in slices.iter().zip(parts) {
        for (j, part) in parts.iter().enumerate() {
            let weight = (slice.log[j] - top).exp() * slice.step * end_weight(j, parts.len());
            sums[0] += weight;
            sums[1] += weight * part.mean;
            sums[2] += weight * part.square;
            sums[3] += weight * part.apart;
        }
    }
    let mean = sums[1] / sums[0];
    let variance = (sums[2] / sums[0] - mean * mean).max(0.0);
    Shared { mean, variance, apart: (sums[3] / sums[0]).clamp(0.0, 1.0) }
}

/// Highest log weight of any mean, less what it loses on the way to the range of the density.
fn highest(slices: &[Slice], others: &[Vec<f64>], lo: f64, hi: f64) -> f64 {
    let mut top = f64::NEG_INFINITY;
    for (slice, others) in slices.iter().zip(others) {
        for (mu, log) in slice.means().zip(others) {
            let gap = (mu.clamp(lo, hi) - mu) / slice.tau;
            top = top.max(log - 0.5 * gap * gap);
        }
    }
    top
}

/// Adds the normals of the means of a slice, but for those whose weight is nil.
fn add_wide(height: &mut [f64], slice: &Slice, others: &[f64], top: f64, lo: f64, step: f64) {
    let spacing = Spacing::of(step, slice.tau);
    for (j, mu) in slice.means().enumerate() {
        if others[j] == f64::NEG_INFINITY {
            continue;
        }
        let weight = slice.step / slice.tau * end_weight(j, others.len());
        spacing.add_bell(height, lo, mu, (weight, others[j] - top));
    }
}

/// Adds the average of what the others say over a narrow normal about each log ratio, read between the
/// means of the slice.
fn add_narrow(height: &mut [f64], slice: &Slice, others: &[f64], top: f64, lo: f64, step: f64) {
    let end = slice.lo + slice.step * (others.len() - 1) as f64;
    for (i, h) in height.iter_mut().enumerate() {
        let x = lo + step * i as f64;
        let from = ((slice.lo - x) / slice.tau).max(-NORMAL_REACH);
        let to = ((end - x) / slice.tau).min(NORMAL_REACH);
        if from >= to {
            continue;
        }
        let spacing = (to - from) / (NORMAL_NODES - 1) as f64;
        for j in 0..NORMAL_NODES {
            let z = from + spacing * j as f64;
            let place = (x + slice.tau * z - slice.lo) / slice.step;
            let weight = spacing * end_weight(j, NORMAL_NODES);
            *h += weight * (cubic_through(others, place) - top - 0.5 * z * z).exp();
        }
    }
}
