//! Joint posterior of the mean and the spread of the log ratios of cells, on a grid that fits it.
//!
//! A cell is one of many that differ by the spread, or, with the chance [`APART`], stands apart. Promises nodes
//! where the posterior is, however narrow. Stops at the two shared parameters.

use rayon::prelude::*;

use super::cell_likelihood::{CellLikelihood, HIGHEST, LOWEST, Moments};
use crate::stats::special::density::{Density, cubic_through, end_weight, spaced};
use crate::stats::special::quantile::normal_upper;
use crate::stats::special::root::root_within;

/// Ends of the flat prior of the mean.
pub(super) const MU_END: f64 = 4.0;
/// Upper end of the prior of the spread.
pub(super) const TAU_END: f64 = 2.0;

/// Chance of a cell to stand apart from the others.
pub(super) const APART: f64 = 0.15;
/// Standard deviation of the log ratios of cells that do, about the shared mean: one in three is more than
/// four and a half times as large or as small.
pub(super) const APART_BY: f64 = 1.5;

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
    pub(super) cells: &'a [Cell],
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

    /// Range of the spread from spreads in falling steps of ratio 0.6 down to 1e-4.
    fn rough_range(&self) -> (f64, f64) {
        let taus: Vec<f64> = (0..20).map(|k| TAU_END * 0.6_f64.powi(k)).collect();
        let logs: Vec<f64> =
            taus.par_iter().map(|&tau| self.slice(tau, ROUGH_MEANS).log_mass).collect();
        let best = (0..taus.len()).max_by(|&a, &b| logs[a].total_cmp(&logs[b])).unwrap_or(0);
        let low = |k: &usize| logs[*k] < logs[best] - TAU_DROP;
        let hi = (0..best).rev().find(low).map_or(TAU_END, |k| taus[k]);
        let lo = (best..taus.len()).find(low).map_or(0.0, |k| taus[k]);
        (lo, hi)
    }

    fn slice(&self, tau: f64, means: usize) -> Slice {
        // The mean is never known better than from the cells' true ratios, so this is within one
        // standard deviation, and a mode found to a twentieth of it is good enough to start from.
        let scale = tau / (self.cells.len().max(1) as f64).sqrt();
        let mode = root_within(|mu| self.pull(mu, tau), -MU_END, MU_END, scale / 20.0);
        let at = |mu: f64| self.log_posterior(&Prior::at(mu, tau));
        let peak = at(mode);
        let least = 5.0 * scale;
        let end = |sign: f64| {
            let mut reach = least;
            while reach < 2.0 * MU_END
                && (mode + sign * reach).abs() < MU_END
                && at(mode + sign * reach) > peak - MU_DROP
            {
                reach *= 1.25;
            }
            (mode + sign * reach).clamp(-MU_END, MU_END)
        };
        let (lo, hi) = (end(-1.0), end(1.0));
        // Ends that the prior cuts off are right to the fourth order of the spacing only.
        let cut = lo <= -MU_END || hi >= MU_END;
        let means = if cut { 2 * means } else { means };
        let step = (hi - lo) / (means - 1) as f64;
        let priors: Vec<Prior> = (0..means).map(|j| Prior::at(lo + step * j as f64, tau)).collect();
        let log: Vec<f64> = priors.iter().map(|prior| self.log_posterior(prior)).collect();
        let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let term = |(j, l): (usize, &f64)| (l - top).exp() * end_weight(j, means);
        let sum: f64 = log.iter().enumerate().map(term).sum();
        Slice { tau, lo, step, log_mass: top + (sum * step).ln(), log, priors }
    }

    /// Log posterior of mean and spread, up to a constant.
    fn log_posterior(&self, prior: &Prior) -> f64 {
        let z = prior.tau / self.tau_scale;
        let cells: f64 = self.cells.iter().map(|c| prior.log_mass(c)).sum();
        cells - 0.5 * z * z
    }

    /// How far the cells lie below `mu` on the whole; 0 near the mode.
    fn pull(&self, mu: f64, tau: f64) -> f64 {
        let narrow = (tau / APART_BY).powi(2);
        let prior = Prior::at(mu, tau);
        let pull = |c: &Cell| {
            let parts = prior.times(c);
            let apart = parts.apart();
            (1.0 - apart) * (mu - parts.near.mean) + apart * narrow * (mu - parts.far.mean)
        };
        self.cells.iter().map(pull).sum()
    }
}

/// Means at which the product of a cell with the wide normal is worked out: between them it is as smooth as
/// that normal.
const FAR_STEP: f64 = 0.1;

/// A cell with its products with the normal of cells that stand apart.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) likelihood: CellLikelihood,
    /// Log of the integral, mean, variance by mean of the normal.
    far: [Vec<f64>; 3],
}

impl Cell {
    pub(super) fn new(likelihood: CellLikelihood) -> Cell {
        let means = (2.0 * MU_END / FAR_STEP).round() as usize;
        let at = |j: usize| likelihood.times_normal(-MU_END + FAR_STEP * j as f64, APART_BY);
        let all: Vec<Moments> = (0..=means).map(at).collect();
        let far: [fn(&Moments) -> f64; 3] = [|m| m.log_mass, |m| m.mean, |m| m.variance];
        let far = far.map(|of| all.iter().map(of).collect());
        Cell { likelihood, far }
    }

    fn far(&self, mu: f64) -> Moments {
        let [log_mass, mean, variance] = [0, 1, 2].map(|of| self.far_of(of, mu));
        Moments { log_mass, mean, variance: variance.max(0.0) }
    }

    fn far_of(&self, of: usize, mu: f64) -> f64 {
        cubic_through(&self.far[of], (mu.clamp(-MU_END, MU_END) + MU_END) / FAR_STEP)
    }
}

/// Both parts of the prior at one mean and spread: the same for all cells, so worked out once for them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prior {
    mu: f64,
    tau: f64,
    /// Log of what each part's normal is multiplied by: its chance over its share inside the range.
    pub(super) log_weights: [f64; 2],
}

impl Prior {
    pub(super) fn at(mu: f64, tau: f64) -> Prior {
        let log_weights = [
            (1.0 - APART).ln() - log_share_inside(mu, tau),
            APART.ln() - log_share_inside(mu, APART_BY),
        ];
        Prior { mu, tau, log_weights }
    }

    /// Its product with the likelihood of a cell.
    pub(super) fn times(&self, cell: &Cell) -> Parts {
        let (near, far) = (cell.likelihood.times_normal(self.mu, self.tau), cell.far(self.mu));
        let log_mass = self.joined(near.log_mass, far.log_mass);
        Parts { near, far, log_weights: self.log_weights, log_mass }
    }

    /// Log of the integral of that product.
    fn log_mass(&self, cell: &Cell) -> f64 {
        let near = cell.likelihood.times_normal(self.mu, self.tau).log_mass;
        self.joined(near, cell.far_of(0, self.mu))
    }

    fn joined(&self, near: f64, far: f64) -> f64 {
        let logs = [near + self.log_weights[0], far + self.log_weights[1]];
        let top = logs[0].max(logs[1]);
        top + ((logs[0] - top).exp() + (logs[1] - top).exp()).ln()
    }
}

/// Product of a cell's likelihood with both parts of the prior at one mean and spread.
#[derive(Clone, Copy, Debug)]
pub(super) struct Parts {
    /// With the normal of cells that are like the others.
    pub(super) near: Moments,
    /// With that of cells that stand apart.
    pub(super) far: Moments,
    /// As of the prior.
    pub(super) log_weights: [f64; 2],
    /// Log of the whole integral.
    pub(super) log_mass: f64,
}

impl Parts {
    /// Probability that the cell stands apart.
    pub(super) fn apart(&self) -> f64 {
        (self.far.log_mass + self.log_weights[1] - self.log_mass).exp().clamp(0.0, 1.0)
    }

    /// Mean and second moment of the cell's log ratio.
    pub(super) fn moments(&self) -> [f64; 2] {
        let apart = self.apart();
        let mix = |of: fn(&Moments) -> f64| (1.0 - apart) * of(&self.near) + apart * of(&self.far);
        [mix(|m| m.mean), mix(|m| m.variance + m.mean * m.mean)]
    }
}

/// Log of the share of a normal that lies in the range of the log ratio.
fn log_share_inside(mu: f64, tau: f64) -> f64 {
    let outside = normal_upper((HIGHEST - mu) / tau) + normal_upper((mu - LOWEST) / tau);
    (-outside).ln_1p()
}
