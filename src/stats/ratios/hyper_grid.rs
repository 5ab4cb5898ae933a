//! Joint posterior of the mean and the spread of the log ratios of cells, on a grid that fits it.
//!
//! Promises nodes where the posterior is, however narrow. Stops at the two shared parameters.

use rayon::prelude::*;

use super::bell::Spacing;
use super::prior::{APART_BY, Cell, MU_END, Means, Prior};
use crate::stats::special::density::{Density, cubic_through, end_weight, spaced};
use crate::stats::special::root::root_within;

/// Upper end of the prior of the spread.
pub(super) const TAU_END: f64 = 2.0;

/// A slice of the mean ends where the posterior has fallen by this much on the log scale.
const MU_DROP: f64 = 25.0;
/// The same for the spread.
const TAU_DROP: f64 = 20.0;

/// Slices, and means a slice, while the range of the spread is looked for.
const ROUGH_SLICES: usize = 12;
const ROUGH_MEANS: usize = 11;

/// Posterior of the mean at one spread, on equally spaced means.
#[derive(Clone, Debug)]
pub(super) struct Slice {
    pub(super) tau: f64,
    pub(super) lo: f64,
    pub(super) step: f64,
    /// Log posterior at each mean, up to the constant of the whole grid.
    pub(super) log: Vec<f64>,
    /// The prior of a cell at each mean.
    pub(super) priors: Vec<Prior>,
    /// Log of the integral over the mean.
    pub(super) log_mass: f64,
}

impl Slice {
    /// The means of the slice.
    pub(super) fn means(&self) -> impl Iterator<Item = f64> {
        (0..self.log.len()).map(|j| self.lo + self.step * j as f64)
    }

    /// Density of the mean at this spread.
    pub(super) fn density(&self) -> Density {
        let last = (self.log.len() - 1) as f64;
        let top = self.log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let height = |place: f64| (cubic_through(&self.log, place) - top).exp();
        Density::new(self.lo, self.lo + self.step * last, spaced(0.0, last).map(height).collect())
    }
}

/// What the posterior depends on.
pub(super) struct HyperPosterior<'a> {
    /// Informative cells.
    pub(super) cells: &'a [&'a Cell],
    /// Scale of the half-normal prior of the spread.
    pub(super) tau_scale: f64,
    /// Means a slice.
    pub(super) mu_nodes: usize,
    /// Slices.
    pub(super) tau_nodes: usize,
}

impl HyperPosterior<'_> {
    /// Slices at equally spaced spreads, midpoints of equal parts of the range that the posterior fills.
    pub(super) fn slices(&self) -> Vec<Slice> {
        let (mut lo, mut hi) = self.rough_range();
        let mut slices = self.between(lo, hi, ROUGH_SLICES, ROUGH_MEANS);
        for _ in 0..6 {
            let step = (hi - lo) / slices.len() as f64;
            let top = slices.iter().map(|s| s.log_mass).fold(f64::NEG_INFINITY, f64::max);
            let deep = |s: &Slice| s.log_mass > top - TAU_DROP;
            let first = slices.iter().position(deep).unwrap_or(0);
            let last = slices.iter().rposition(deep).unwrap_or(slices.len() - 1);
            if 2 * (last - first + 3) > slices.len() {
                break;
            }
            hi = (lo + step * (last as f64 + 2.0)).min(hi);
            lo += step * (first as f64 - 1.0).max(0.0);
            slices = self.between(lo, hi, ROUGH_SLICES, ROUGH_MEANS);
        }
        self.between(lo, hi, self.tau_nodes, self.mu_nodes)
    }

    fn between(&self, lo: f64, hi: f64, slices: usize, means: usize) -> Vec<Slice> {
        let step = (hi - lo) / slices as f64;
        let slice = |k: usize| self.slice(lo + step * (k as f64 + 0.5), means);
        (0..slices).into_par_iter().map(slice).collect()
    }

    /// Range of the spread from spreads in falling steps of ratio 0.6 down to 1e-4, or to where they are all so small
    /// that they make no difference.
    fn rough_range(&self) -> (f64, f64) {
        let taus: Vec<f64> = (0..20).map(|k| TAU_END * 0.6_f64.powi(k)).collect();
        let mut logs: Vec<f64> = Vec::with_capacity(taus.len());
        for some in taus.chunks(SIDE_BY_SIDE) {
            let log = |&tau: &f64| self.slice(tau, ROUGH_MEANS).log_mass;
            logs.par_extend(some.par_iter().map(log));
            // The posterior depends on the square of a small spread: what is still to come is less than the last change.
            let changes = logs.windows(2).rev().take(2);
            if changes.map(|two| (two[1] - two[0]).abs()).all(|change| change < NO_CHANGE) {
                break;
            }
        }
        let best = (0..logs.len()).max_by(|&a, &b| logs[a].total_cmp(&logs[b])).unwrap_or(0);
        let low = |k: &usize| logs[*k] < logs[best] - TAU_DROP;
        let hi = (0..best).rev().find(low).map_or(TAU_END, |k| taus[k]);
        let lo = (best..logs.len()).find(low).map_or(0.0, |k| taus[k]);
        (lo, hi)
    }

    fn slice(&self, tau: f64, means: usize) -> Slice {
        let nodes: Vec<Spacing> =
            self.cells.iter().map(|cell| cell.likelihood.under(tau)).collect();
        // The mean is never known better than from the cells' true ratios, so this is within one
        // standard deviation, and a mode found to a twentieth of it is good enough to start from.
        let scale = tau / (self.cells.len().max(1) as f64).sqrt();
        let pull = |mu| self.pull(&Prior::at(mu, tau), &nodes);
        let mode = root_within(pull, -MU_END, MU_END, scale / 20.0);
        let at = |mu: f64| self.log_posterior(&Prior::at(mu, tau), &nodes);
        let peak = at(mode);
        let end = |sign: f64| {
            let drop = |reach: f64| peak - at(mode + sign * reach);
            let is_open = |reach: f64| reach < 2.0 * MU_END && (mode + sign * reach).abs() < MU_END;
            (mode + sign * reach(5.0 * scale, is_open, drop)).clamp(-MU_END, MU_END)
        };
        let (lo, hi) = (end(-1.0), end(1.0));
        // Ends that the prior cuts off are right to the fourth order of the spacing only.
        let cut = lo <= -MU_END || hi >= MU_END;
        let means = if cut { 2 * means } else { means };
        let step = (hi - lo) / (means - 1) as f64;
        let priors: Vec<Prior> = (0..means).map(|j| Prior::at(lo + step * j as f64, tau)).collect();
        let log: Vec<f64> = priors.iter().map(|prior| self.log_posterior(prior, &nodes)).collect();
        let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let term = |(j, l): (usize, &f64)| (l - top).exp() * end_weight(j, means);
        let sum: f64 = log.iter().enumerate().map(term).sum();
        Slice { tau, lo, step, log_mass: top + (sum * step).ln(), log, priors }
    }

    /// Log posterior of mean and spread, up to a constant.
    fn log_posterior(&self, prior: &Prior, nodes: &[Spacing]) -> f64 {
        let z = prior.tau / self.tau_scale;
        let log_mass = |(cell, nodes): (&&Cell, &Spacing)| prior.log_mass(cell, *nodes);
        let cells: f64 = self.cells.iter().zip(nodes).map(log_mass).sum();
        cells - 0.5 * z * z
    }

    /// How far the cells lie below the mean on the whole; 0 near the mode.
    fn pull(&self, prior: &Prior, nodes: &[Spacing]) -> f64 {
        let (mu, narrow) = (prior.mu, (prior.tau / APART_BY).powi(2));
        let pull = |(cell, nodes): (&&Cell, &Spacing)| {
            let Means { near, far, apart } = prior.means(cell, *nodes);
            (1.0 - apart) * (mu - near) + apart * narrow * (mu - far)
        };
        self.cells.iter().zip(nodes).map(pull).sum()
    }
}

/// Spreads that are tried side by side before it is asked whether to go on.
const SIDE_BY_SIDE: usize = 5;
/// Change of the log posterior from one small spread to the next, of which [`TAU_DROP`] is a great many.
const NO_CHANGE: f64 = 0.1;

/// How much farther each trial of a reach goes.
const FARTHER: f64 = 1.25;

/// The first of `least` times powers of [`FARTHER`] that is not open any more, or at which the posterior has dropped far
/// enough. The drop grows with the reach; where it would end if it grew with the square is tried first.
fn reach(least: f64, is_open: impl Fn(f64) -> bool, drop: impl Fn(f64) -> f64) -> f64 {
    let mut reaches = vec![least];
    while is_open(reaches[reaches.len() - 1]) {
        reaches.push(reaches[reaches.len() - 1] * FARTHER);
    }
    let last = reaches.len() - 1;
    let is_far = |at: usize| at >= last || drop(reaches[at]) >= MU_DROP;
    let first = if last > 0 { drop(least) } else { MU_DROP };
    if first >= MU_DROP {
        return least;
    }
    let farther = 0.5 * (MU_DROP / first).ln() / FARTHER.ln();
    let mut at = if farther.is_finite() { (farther.ceil() as usize).clamp(1, last) } else { 1 };
    if is_far(at) {
        while at > 1 && is_far(at - 1) {
            at -= 1;
        }
    } else {
        while !is_far(at) {
            at += 1;
        }
    }
    reaches[at]
}
