//! Proportions whose units come in clusters that resemble each other.
//!
//! Promises sums that merge by addition, so that any split of the rows gives the same result.
//! Stops at one proportion; two of them are compared by `difference` on their effective sizes.

use super::estimate::{Estimate, Warning};
use super::proportion::wilson;

/// Fewest clusters whose variance is taken without a warning (common practice).
pub const ENOUGH_CLUSTERS: u64 = 10;

/// Sums over clusters of `n` units with `y` events each. Integers, so that their order is no matter.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ClusterSums {
    /// Clusters with at least one unit.
    pub clusters: u64,
    /// Units in all clusters.
    pub n: u64,
    /// Events among them.
    pub events: u64,
    /// Sum of `n * n`.
    pub sum_nn: u128,
    /// Sum of `n * y`.
    pub sum_ny: u128,
    /// Sum of `y * y`.
    pub sum_yy: u128,
}

impl ClusterSums {
    /// Adds one cluster of `n` units, `events` of them (at most `n`) with the event. A cluster
    /// without units is not counted.
    pub fn add(&mut self, n: u64, events: u64) {
        if n == 0 {
            return;
        }
        let events = events.min(n);
        let (wide_n, wide_y) = (u128::from(n), u128::from(events));
        *self = self.merge(Self {
            clusters: 1,
            n,
            events,
            sum_nn: wide_n * wide_n,
            sum_ny: wide_n * wide_y,
            sum_yy: wide_y * wide_y,
        });
    }

    /// The sums of both. They stop at the largest integer instead of wrapping round.
    #[must_use]
    pub fn merge(self, other: Self) -> Self {
        Self {
            clusters: self.clusters.saturating_add(other.clusters),
            n: self.n.saturating_add(other.n),
            events: self.events.saturating_add(other.events),
            sum_nn: self.sum_nn.saturating_add(other.sum_nn),
            sum_ny: self.sum_ny.saturating_add(other.sum_ny),
            sum_yy: self.sum_yy.saturating_add(other.sum_yy),
        }
    }

    /// Sum of `(y - p n)^2` over clusters, times the square of the units, as `n a - y b` with
    /// `a = n S_yy - y S_ny` and `b = n S_ny - y S_nn`: exact in integers wherever they are wide enough,
    /// since the terms nearly cancel.
    fn scaled_residual(&self) -> f64 {
        let (n, y) = (i128::from(self.n), i128::from(self.events));
        let gap = |p: i128, q: i128| n.checked_mul(p)?.checked_sub(y.checked_mul(q)?);
        let wide = |sum: u128| i128::try_from(sum).ok();
        let parts = || {
            let (yy, ny, nn) = (wide(self.sum_yy)?, wide(self.sum_ny)?, wide(self.sum_nn)?);
            Some((gap(yy, ny)?, gap(ny, nn)?))
        };
        let float = |p: f64, q: f64| self.n as f64 * p - self.events as f64 * q;
        let scaled = match parts() {
            Some((a, b)) => gap(a, b).map_or_else(|| float(a as f64, b as f64), |sum| sum as f64),
            None => {
                let ny = self.sum_ny as f64;
                float(float(self.sum_yy as f64, ny), float(ny, self.sum_nn as f64))
            }
        };
        scaled.max(0.0)
    }
}

/// How much larger a variance is because its units come in clusters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DesignEffect {
    /// Variance between clusters over the binomial variance; below 1 where clusters are more alike
    /// than chance makes them.
    pub deff: f64,
    /// Clusters it rests on.
    pub clusters: u64,
}

/// Design effect of a proportion: variance of the ratio estimator over clusters,
/// `m / (m - 1) * sum (y - p n)^2 / (sum n)^2`, over `p (1 - p) / sum n`.
///
/// 1 for a proportion of 0 or 1, for a single cluster and for none.
///
/// Source: Rao & Scott (1992), Biometrics 48, 577-585, section 2.
pub fn design_effect(sums: &ClusterSums) -> DesignEffect {
    let clusters = sums.clusters;
    let clean = sums.n.saturating_sub(sums.events);
    if clusters < 2 || sums.events == 0 || clean == 0 {
        return DesignEffect { deff: 1.0, clusters };
    }
    let m = clusters as f64;
    let (n, y) = (sums.n as f64, sums.events as f64);
    let deff = m / (m - 1.0) * (sums.scaled_residual() / n) / (y * clean as f64);
    DesignEffect { deff, clusters }
}

/// Score interval of a clustered proportion: Wilson on units and events over the design effect,
/// which is never taken below 1.
///
/// `n` and `events` of the result are the counts, not the effective sizes. Under
/// [`ENOUGH_CLUSTERS`] clusters: `FewClusters`.
///
/// Source: Rao & Scott (1992) for the effective sizes, Wilson (1927) for the interval.
pub fn effective_wilson(sums: &ClusterSums, level: f64) -> Estimate {
    let effect = design_effect(sums);
    let deff = effect.deff.max(1.0);
    let mut estimate = wilson(sums.events as f64 / deff, sums.n as f64 / deff, level);
    estimate.n = sums.n as f64;
    estimate.events = sums.events;
    estimate.method = "Wilson on effective size";
    if effect.clusters > 0 && effect.clusters < ENOUGH_CLUSTERS {
        estimate.warnings.push(Warning::FewClusters);
    }
    estimate
}
