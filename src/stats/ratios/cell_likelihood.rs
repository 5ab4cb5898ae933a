//! Likelihood of the log ratio of one cell, tabulated, and its product with a normal distribution.
//!
//! Promises integrals over the table that are right to eight digits whatever the width of the normal:
//! equally spaced sums of smooth functions converge faster than any power of the spacing. Stops at one
//! cell; `random_effects` puts cells together.

use super::bell::{Outwards, Spacing};
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

/// Part of a sum below which nothing more of it is to come: products fall faster and faster.
const LEFT_OUT: f64 = 1e-20;

/// Product of a cell's likelihood and the unscaled bell of a normal, summed over its nodes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Product<const ORDERS: usize> {
    /// Log of a factor of all sums.
    pub(super) log_factor: f64,
    /// Sums of the product times powers of the distance from `from`, in `unit`s, the 0th first.
    pub(super) sums: [f64; ORDERS],
    from: f64,
    unit: f64,
}

impl<const ORDERS: usize> Product<ORDERS> {
    fn add(&mut self, distance: f64, product: f64) {
        let mut term = product;
        for sum in &mut self.sums {
            *sum += term;
            term *= distance;
        }
    }
}

impl Product<2> {
    pub(super) fn mean(&self) -> f64 {
        self.from + self.unit * (self.sums[1] / self.sums[0])
    }
}

impl Product<3> {
    pub(super) fn mean(&self) -> f64 {
        self.from + self.unit * (self.sums[1] / self.sums[0])
    }

    pub(super) fn variance(&self) -> f64 {
        let [all, first, second] = self.sums;
        self.unit * self.unit * (second / all - (first / all).powi(2)).max(0.0)
    }
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
        let [da, square, cube] = self.piece(i);
        self.log[i] + t * (da + t * (square + t * cube))
    }

    /// The nodes of this table under normals of a standard deviation.
    pub(super) fn under(&self, tau: f64) -> Spacing {
        Spacing::of(self.step, tau)
    }

    /// The product with the normal of mean `mu`, summed over the nodes of the table or, where the normal is narrower than
    /// their spacing, over nodes of its own.
    pub(super) fn times_normal<const ORDERS: usize>(
        &self,
        mu: f64,
        nodes: Spacing,
    ) -> Product<ORDERS> {
        if nodes.tau < self.step {
            return self.narrow(mu, nodes.tau);
        }
        let Outwards { nearest, log, up, down, change } =
            nodes.outwards(self.lo, self.weighted.len(), mu);
        let from = self.lo + self.step * nearest as f64;
        let mut product = Product { log_factor: log, sums: [0.0; ORDERS], from, unit: self.step };
        let middle = self.weighted[nearest];
        product.add(0.0, middle);
        // As `Spacing::visit`, but that it ends where products are nothing.
        let (mut height, mut ratio, mut distance) = (1.0, up, 0.0);
        for weight in &self.weighted[nearest + 1..] {
            height *= ratio;
            ratio *= change;
            distance += 1.0;
            let term = height * weight;
            product.add(distance, term);
            if term < LEFT_OUT * middle {
                break;
            }
        }
        (height, ratio, distance) = (1.0, down, 0.0);
        for weight in self.weighted[..nearest].iter().rev() {
            height *= ratio;
            ratio *= change;
            distance -= 1.0;
            let term = height * weight;
            product.add(distance, term);
            if term < LEFT_OUT * middle {
                break;
            }
        }
        product
    }

    /// The same over nodes about `mu`, a standard deviation apart.
    fn narrow<const ORDERS: usize>(&self, mu: f64, tau: f64) -> Product<ORDERS> {
        let top = self.log_at(mu);
        let mut product = Product { log_factor: top, sums: [0.0; ORDERS], from: mu, unit: tau };
        let reach = NARROW_REACH * tau;
        let is_inside = mu - reach >= LOWEST && mu + reach <= HIGHEST;
        let Some([slope, bend, twist]) = self.cubic_about(mu, tau).filter(|_| is_inside) else {
            self.visit_narrow(mu, tau, NARROW_STEP, |x, f| product.add((x - mu) / tau, f));
            return product;
        };
        // A cubic is the log of every height, so its third differences are level.
        product.add(0.0, tau);
        for sign in [1.0, -1.0] {
            let (slope, twist) = (sign * slope, sign * twist);
            let mut height = tau;
            let mut ratio = (slope + bend + twist - 0.5).exp();
            let mut change = (2.0 * bend + 6.0 * twist - 1.0).exp();
            let turn = (6.0 * twist).exp();
            for node in 1..=NARROW_REACH as i32 {
                height *= ratio;
                ratio *= change;
                change *= turn;
                product.add(sign * f64::from(node), height);
            }
        }
        product
    }

    /// Coefficients of the log likelihood about `mu`, in powers of the distance in `tau`s from the first on, where one piece
    /// of it holds as far as a narrow normal reaches.
    fn cubic_about(&self, mu: f64, tau: f64) -> Option<[f64; 3]> {
        let last = self.log.len() - 1;
        let (place, unit) = ((mu - self.lo) / self.step, tau / self.step);
        let (first, end) = (place - NARROW_REACH * unit, place + NARROW_REACH * unit);
        if end <= 0.0 {
            return Some([self.slope[0] * tau, 0.0, 0.0]);
        }
        if first >= last as f64 {
            return Some([self.slope[last] * tau, 0.0, 0.0]);
        }
        let i = (first.max(0.0) as usize).min(last - 1);
        if first < i as f64 || end > (i + 1) as f64 {
            return None;
        }
        let [da, square, cube] = self.piece(i);
        let t = place - i as f64;
        let slope = da + t * (2.0 * square + t * 3.0 * cube);
        let bend = square + 3.0 * t * cube;
        Some([slope * unit, bend * unit * unit, cube * unit * unit * unit])
    }

    /// Coefficients of the cubic from node `i` to the next one, in spacings, from the first power on.
    fn piece(&self, i: usize) -> [f64; 3] {
        let (a, b) = (self.log[i], self.log[i + 1]);
        let (da, db) = (self.slope[i] * self.step, self.slope[i + 1] * self.step);
        let rise = b - a;
        [da, 3.0 * rise - 2.0 * da - db, da + db - 2.0 * rise]
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

    /// Visits the nodes of the table: log ratio, and product times node weight over a factor of all of them.
    fn visit_table(&self, mu: f64, tau: f64, mut see: impl FnMut(f64, f64)) {
        self.under(tau).visit(self.lo, self.weighted.len(), mu, |i, g| {
            see(self.lo + self.step * i as f64, g * self.weighted[i]);
        });
    }

    /// The same over nodes about `mu`, `step` standard deviations apart.
    fn visit_narrow(&self, mu: f64, tau: f64, step: f64, mut see: impl FnMut(f64, f64)) {
        let top = self.log_at(mu);
        let side = (NARROW_REACH / step) as i32;
        for j in -side..=side {
            let z = step * f64::from(j);
            let x = mu + tau * z;
            if (LOWEST..=HIGHEST).contains(&x) {
                see(x, (self.log_at(x) - top - 0.5 * z * z).exp() * step * tau);
            }
        }
    }
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
