//! Posterior density of the log ratio of one cell, its shared mean and spread integrated over.
//!
//! Promises a smooth density also where the spread is far smaller than the distance between the means of
//! the grid. Stops at one cell.

use super::cell_likelihood::{CellLikelihood, HIGHEST, LOWEST, Moments, NOTHING, bell};
use super::hyper_grid::{MU_END, Slice};
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

/// Likelihood of the cell times the normals of all means and spreads, each by its share of the posterior
/// and over its own product with the likelihood.
pub(super) fn cell_density(likelihood: &CellLikelihood, slices: &[Slice]) -> Density {
    let parts: Vec<Vec<Moments>> = slices
        .iter()
        .map(|s| s.means().map(|mu| likelihood.times_normal(mu, s.tau)).collect())
        .collect();
    let (mean, variance) = moments(slices, &parts);
    let (lo, hi) = around(mean, variance, LOWEST, HIGHEST);
    let step = (hi - lo) / (DENSITY_POINTS - 1) as f64;
    let others = others(slices, &parts);
    let top = highest(slices, &others, lo, hi);
    let floor =
        slices.iter().flat_map(|s| &s.log).copied().fold(f64::NEG_INFINITY, f64::max) - NEGLIGIBLE;
    let mut height = vec![0.0; DENSITY_POINTS];
    for (slice, others) in slices.iter().zip(&others) {
        let end = slice.lo + slice.step * (others.len() - 1) as f64;
        let cut = slice.lo <= -MU_END || end >= MU_END - 1e-9;
        let blended = if cut { BLENDED_AT_END } else { BLENDED };
        let overlap = mean > slice.lo && mean < end;
        if slice.step > blended * slice.tau && overlap {
            add_narrow(&mut height, slice, others, top, lo, step);
        } else {
            let others: Vec<f64> = slice
                .log
                .iter()
                .zip(others)
                .map(|(l, o)| if *l < floor { f64::NEG_INFINITY } else { *o })
                .collect();
            add_wide(&mut height, slice, &others, top, lo, step);
        }
    }
    for (i, h) in height.iter_mut().enumerate() {
        *h *= likelihood.log_at(lo + step * i as f64).exp();
    }
    Density::new(lo, hi, height)
}

/// What the other cells say of each mean: the posterior over the cell's own part of it, logs.
fn others(slices: &[Slice], parts: &[Vec<Moments>]) -> Vec<Vec<f64>> {
    let less = |(log, part): (&f64, &Moments)| log - part.log_mass;
    let slice = |(s, parts): (&Slice, &Vec<Moments>)| s.log.iter().zip(parts).map(less).collect();
    slices.iter().zip(parts).map(slice).collect()
}

/// Mean and variance of the cell's log ratio.
fn moments(slices: &[Slice], parts: &[Vec<Moments>]) -> (f64, f64) {
    let top = slices.iter().map(|s| s.log_mass).fold(f64::NEG_INFINITY, f64::max);
    let mut sums = [0.0; 3];
    for (slice, parts) in slices.iter().zip(parts) {
        for (j, part) in parts.iter().enumerate() {
            let weight = (slice.log[j] - top).exp() * slice.step * end_weight(j, parts.len());
            sums[0] += weight;
            sums[1] += weight * part.mean;
            sums[2] += weight * (part.variance + part.mean * part.mean);
        }
    }
    let mean = sums[1] / sums[0];
    (mean, (sums[2] / sums[0] - mean * mean).max(0.0))
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
    let mut row = vec![0.0; height.len()];
    for (j, mu) in slice.means().enumerate() {
        if others[j] == f64::NEG_INFINITY {
            continue;
        }
        row.fill(0.0);
        let offset = bell(lo, step, height.len(), (mu, slice.tau, NOTHING), |i, g| row[i] = g);
        let weight = slice.step / slice.tau * end_weight(j, others.len());
        let scale = (others[j] - top + offset).exp() * weight;
        height.iter_mut().zip(&row).for_each(|(h, g)| *h += scale * g);
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
