//! The prior of the log ratio of a cell at one shared mean and spread, and its product with what the cell says.
//!
//! A cell is one of many that differ by the spread, or, with the chance [`APART`], stands apart. Stops at one cell and
//! one mean and spread.

use super::bell::Spacing;
use super::cell_likelihood::{CellLikelihood, HIGHEST, LOWEST, Product};
use crate::stats::special::density::Cubic;
use crate::stats::special::quantile::normal_upper;

/// Ends of the flat prior of the mean.
pub(super) const MU_END: f64 = 4.0;
/// Chance of a cell to stand apart from the others.
pub(super) const APART: f64 = 0.15;
/// Standard deviation of the log ratios of cells that do, about the shared mean: one in three is more than
/// four and a half times as large or as small.
pub(super) const APART_BY: f64 = 1.5;

/// Means at which the product of a cell with the wide normal is worked out: between them it is as smooth as
/// that normal.
const FAR_STEP: f64 = 0.1;

/// How many these are.
fn far_means() -> usize {
    (2.0 * MU_END / FAR_STEP).round() as usize + 1
}

/// A cell with its products with the normal of cells that stand apart.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) likelihood: CellLikelihood,
    /// Log of the integral, mean, variance by mean of the normal.
    far: [Vec<f64>; 3],
}

impl Cell {
    pub(super) fn new(likelihood: CellLikelihood) -> Cell {
        let (nodes, log_norm) = (likelihood.under(APART_BY), log_norm(APART_BY));
        let at = |j: usize| -> Product<3> {
            likelihood.times_normal(-MU_END + FAR_STEP * j as f64, nodes)
        };
        let all: Vec<Product<3>> = (0..far_means()).map(at).collect();
        let log_mass = |far: &Product<3>| far.log_factor + far.sums[0].ln() + log_norm;
        let of: [&dyn Fn(&Product<3>) -> f64; 3] =
            [&log_mass, &|far| far.mean(), &|far| far.variance()];
        let far = of.map(|of| all.iter().map(of).collect());
        Cell { likelihood, far }
    }
}

/// Log of the factor that makes a bell a density.
fn log_norm(tau: f64) -> f64 {
    -tau.ln() - 0.5 * std::f64::consts::TAU.ln()
}

/// Both parts of the prior at one mean and spread: the same for all cells, so worked out once for them.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prior {
    pub(super) mu: f64,
    pub(super) tau: f64,
    /// Log of what each part's normal is multiplied by: its chance over its share inside the range.
    pub(super) log_weights: [f64; 2],
    /// The same of the bell of the first part.
    log_near: f64,
    /// Where the mean stands among those of [`Cell::far`].
    far: Cubic,
}

/// Both parts of the product with a cell's likelihood.
#[derive(Clone, Copy)]
struct Joined {
    /// Log of the whole integral.
    log_mass: f64,
    /// Probability that the cell stands apart.
    apart: f64,
}

impl Prior {
    pub(super) fn at(mu: f64, tau: f64) -> Prior {
        let log_weights = [
            (1.0 - APART).ln() - log_share_inside(mu, tau),
            APART.ln() - log_share_inside(mu, APART_BY),
        ];
        let far = Cubic::at((mu.clamp(-MU_END, MU_END) + MU_END) / FAR_STEP, far_means());
        Prior { mu, tau, log_weights, log_near: log_norm(tau) + log_weights[0], far }
    }

    /// Its product with the likelihood of a cell, whose table lies so under the spread.
    pub(super) fn times(&self, cell: &Cell, nodes: Spacing) -> Parts {
        let near: Product<3> = cell.likelihood.times_normal(self.mu, nodes);
        let [far, mean, variance] = [0, 1, 2].map(|of| self.far.through(&cell.far[of]));
        let Joined { log_mass, apart } = self.joined(&near, far);
        let mix = |near: f64, far: f64| (1.0 - apart) * near + apart * far;
        let own = near.mean();
        let square = mix(near.variance() + own * own, variance.max(0.0) + mean * mean);
        Parts { log_mass, apart, mean: mix(own, mean), square }
    }

    /// Means of the products with both parts.
    pub(super) fn means(&self, cell: &Cell, nodes: Spacing) -> Means {
        let near: Product<2> = cell.likelihood.times_normal(self.mu, nodes);
        let [log_mass, far] = [0, 1].map(|of| self.far.through(&cell.far[of]));
        Means { near: near.mean(), far, apart: self.joined(&near, log_mass).apart }
    }

    /// Log of the integral of that product.
    pub(super) fn log_mass(&self, cell: &Cell, nodes: Spacing) -> f64 {
        let near: Product<1> = cell.likelihood.times_normal(self.mu, nodes);
        self.joined(&near, self.far.through(&cell.far[0])).log_mass
    }

    /// With the log of the integral of the cell's product with the second normal.
    fn joined<const ORDERS: usize>(&self, near: &Product<ORDERS>, far: f64) -> Joined {
        let (log_near, far) = (near.log_factor + self.log_near, far + self.log_weights[1]);
        let beyond = far - log_near;
        if beyond < BEYOND {
            let apart = beyond.exp();
            let all = near.sums[0] + apart;
            return Joined { log_mass: log_near + all.ln(), apart: apart / all };
        }
        let near = near.sums[0] * (-beyond).exp();
        Joined { log_mass: far + near.ln_1p(), apart: 1.0 / (1.0 + near) }
    }
}

/// Log of a number that a double still holds.
const BEYOND: f64 = 600.0;

/// Means of a cell's log ratio where it is like the others and where it stands apart, and the probability that it does.
pub(super) struct Means {
    pub(super) near: f64,
    pub(super) far: f64,
    pub(super) apart: f64,
}

/// Product of a cell's likelihood with both parts of the prior at one mean and spread.
#[derive(Clone, Copy, Debug)]
pub(super) struct Parts {
    /// Log of the whole integral.
    pub(super) log_mass: f64,
    /// Probability that the cell stands apart.
    pub(super) apart: f64,
    /// Mean and second moment of the cell's log ratio.
    pub(super) mean: f64,
    pub(super) square: f64,
}

/// Log of the share of a normal that lies in the range of the log ratio.
fn log_share_inside(mu: f64, tau: f64) -> f64 {
    let outside = normal_upper((HIGHEST - mu) / tau) + normal_upper((mu - LOWEST) / tau);
    (-outside).ln_1p()
}
