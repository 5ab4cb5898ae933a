//! Likelihood of the log ratio of one cell, tabulated, and its product with a normal distribution.
//!
//! Promises integrals over the table that are right to eight digits whatever the width of the normal:
//! equally spaced sums of smooth functions converge faster than any power of the spacing. Stops at one
//! cell; `random_effects` puts cells together.

use super::person_time::PersonTime;
use crate::stats::special::density::end_weight;
use crate::stats::special::root::root;

/// Range of the log ratio.
pub(super) const LOWEST: f64 = -6.0;
pub(super) const HIGHEST: f64 = 6.0;

/// The table ends where the likelihood has fallen by this much on the log scale: 1e-17 of its peak.
const DEEP_ENOUGH: f64 = 40.0;

/// Standardised nodes of a normal narrower than the table's spacing: -6 to 6 in steps of 1, which leaves
/// out 2e-9 and is off by 3e-9.
const NARROW_REACH: f64 = 6.0;
const NARROW_STEP: f64 = 1.0;

/// Log likelihood and its slope at equally spaced log ratios, as far as the data leave them open.
#[derive(Clone, Debug)]
pub(super) struct CellLikelihood {
    lo: f64,
    step: f64,
    log: Vec<f64>,
    slope: Vec<f64>,
    /// Likelihood (peak 1) times the weight of the node in a sum.
    weighted: Vec<f64>,
}

/// Product of a cell's likelihood and a normal density: log of its integral, mean and variance.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Moments {
    pub(super) log_mass: f64,
    pub(super) mean: f64,
    pub(super) variance: f64,
}

impl CellLikelihood {
    /// Table of `nodes` log ratios for informative `strata`; a flat one without any.
    pub(super) fn new(strata: &[PersonTime], nodes: usize) -> Self {
        let log = |x: f64| log_likelihood(strata, x);
        let mode = root(|x| -slope(strata, x), LOWEST, HIGHEST);
        let peak = log(mode);
        let lo = root(|x| log(x) - peak + DEEP_ENOUGH, LOWEST, mode);
        let hi = root(|x| peak - log(x) - DEEP_ENOUGH, mode, HIGHEST);
        // Counts near 1e12 leave a range that rounding could close.
        let (lo, hi) = ((lo.min(mode - 1e-9)).max(LOWEST), (hi.max(mode + 1e-9)).min(HIGHEST));
        let nodes = nodes.max(8);
        let step = (hi - lo) / (nodes - 1) as f64;
        let at = |i: usize| lo + step * i as f64;
        let table: Vec<f64> = (0..nodes).map(|i| log(at(i)) - peak).collect();
        let weight = |i: usize| step * end_weight(i, nodes);
        Self {
            lo,
            step,
            slope: (0..nodes).map(|i| slope(strata, at(i))).collect(),
            weighted: (0..nodes).map(|i| table[i].exp() * weight(i)).collect(),
            log: table,
        }
    }

    /// Log likelihood at any log ratio, peak 0: cubic inside the table, straight on outside it.
    pub(super) fn log_at(&self, x: f64) -> f64 {
        let last = self.log.len() - 1;
        let place = (x - self.lo) / self.step;
        if place <= 0.0 {
            return self.log[0] + self.slope[0] * (x - self.lo);
        }
        if place >= last as f64 {
            return self.log[last] + self.slope[last] * (place - last as f64) * self.step;
        }
        let i = (place as usize).min(last - 1);
        let t = place - i as f64;
        let (a, b) = (self.log[i], self.log[i + 1]);
        let (da, db) = (self.slope[i] * self.step, self.slope[i + 1] * self.step);
        let rise = b - a;
        a + t * (da + t * (3.0 * rise - 2.0 * da - db + t * (da + db - 2.0 * rise)))
    }

    /// Integral, mean and variance of the product with the normal of mean `mu` and deviation `tau`.
    pub(super) fn times_normal(&self, mu: f64, tau: f64) -> Moments {
        let mut sums = [0.0; 3];
        let offset = self.visit(mu, tau, |x, f| {
            let gap = x - mu;
            sums[0] += f;
            sums[1] += f * gap;
            sums[2] += f * gap * gap;
        });
        let gap = sums[1] / sums[0];
        Moments {
            log_mass: offset + sums[0].ln() - tau.ln() - 0.5 * std::f64::consts::TAU.ln(),
            mean: mu + gap,
            variance: (sums[2] / sums[0] - gap * gap).max(0.0),
        }
    }

    /// Log ratio at which the share `u` in (0, 1) of the product with the normal lies below, each node
    /// standing for its surroundings. The nodes are finer here than for integrals, for level
    /// surroundings widen the product.
    pub(super) fn draw(&self, mu: f64, tau: f64, u: f64) -> f64 {
        let mut points: Vec<(f64, f64)> = Vec::new();
        let narrow = tau < 4.0 * self.step;
        if narrow {
            self.visit_narrow(mu, tau, 0.25, |x, f| points.push((x, f)));
        } else {
            self.visit_table(mu, tau, |x, f| points.push((x, f)));
        }
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let spread = if narrow { 0.25 * tau } else { self.step };
        let mut left = u * points.iter().map(|p| p.1).sum::<f64>();
        for &(x, f) in &points {
            if left < f {
                return (x + spread * (left / f - 0.5)).clamp(LOWEST, HIGHEST);
            }
            left -= f;
        }
        mu.clamp(LOWEST, HIGHEST)
    }

    /// Visits the nodes of the product with the unscaled bell of `mu` and `tau`: log ratio, and
    /// product times node weight, both over a common factor whose log is handed back.
    fn visit(&self, mu: f64, tau: f64, see: impl FnMut(f64, f64)) -> f64 {
        if tau >= self.step {
            self.visit_table(mu, tau, see)
        } else {
            self.visit_narrow(mu, tau, NARROW_STEP, see)
        }
    }

    /// The nodes of the table.
    fn visit_table(&self, mu: f64, tau: f64, mut see: impl FnMut(f64, f64)) -> f64 {
        bell(self.lo, self.step, self.weighted.len(), (mu, tau, NOTHING_ADDED), |i, g| {
            see(self.lo + self.step * i as f64, g * self.weighted[i]);
        })
    }

    /// Nodes about `mu`, `step` standard deviations apart.
    fn visit_narrow(&self, mu: f64, tau: f64, step: f64, mut see: impl FnMut(f64, f64)) -> f64 {
        let top = self.log_at(mu);
        let side = (NARROW_REACH / step) as i32;
        for j in -side..=side {
            let z = step * f64::from(j);
            let x = mu + tau * z;
            if (LOWEST..=HIGHEST).contains(&x) {
                see(x, (self.log_at(x) - top - 0.5 * z * z).exp() * step * tau);
            }
        }
        top
    }
}

/// A height of a bell below which nothing is left of it.
pub(super) const NOTHING: f64 = 1e-250;

/// The same where it is multiplied with a tabulated likelihood, which is above 1e-18 throughout: what lies lower
/// adds nothing to what the nearest node has.
const NOTHING_ADDED: f64 = 1e-38;

/// Visits equally spaced nodes with the height of a bell of mean `mu` and deviation `tau` over its height
/// at the nearest node, whose log is handed back. From there outwards each height is the last times a
/// ratio, without an exponential a node; it stops where heights are below `nothing`.
pub(super) fn bell(
    lo: f64,
    step: f64,
    nodes: usize,
    (mu, tau, nothing): (f64, f64, f64),
    mut see: impl FnMut(usize, f64),
) -> f64 {
    let nearest = ((mu - lo) / step).round().clamp(0.0, (nodes - 1) as f64) as usize;
    let gap = (lo + step * nearest as f64 - mu) / tau;
    let stride = step / tau;
    let change = (-stride * stride).exp();
    see(nearest, 1.0);
    let first = |sign: f64| (-sign * gap * stride - 0.5 * stride * stride).exp();
    let (mut height, mut ratio) = (1.0, first(1.0));
    for i in nearest + 1..nodes {
        height *= ratio;
        ratio *= change;
        if height < nothing {
            break;
        }
        see(i, height);
    }
    (height, ratio) = (1.0, first(-1.0));
    for i in (0..nearest).rev() {
        height *= ratio;
        ratio *= change;
        if height < nothing {
            break;
        }
        see(i, height);
    }
    -0.5 * gap * gap
}

fn log_likelihood(strata: &[PersonTime], log_ratio: f64) -> f64 {
    let term = |s: &PersonTime| {
        let (share, rest) = s.log_shares(log_ratio);
        s.d1 as f64 * share + s.d0 as f64 * rest
    };
    strata.iter().map(term).sum()
}

fn slope(strata: &[PersonTime], log_ratio: f64) -> f64 {
    let term = |s: &PersonTime| {
        let (share, rest) = s.log_shares(log_ratio);
        s.d1 as f64 * rest.exp() - s.d0 as f64 * share.exp()
    };
    strata.iter().map(term).sum()
}
