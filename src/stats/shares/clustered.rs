//! Proportions whose units come in clusters that resemble each other.
//!
//! Promises sums that merge by addition, so that any split of the rows gives the same result, and says
//! how much wider an interval must be for a variance that rests on few clusters. Stops at one proportion; two of them are compared by `difference` on their effective sizes.

use super::proportion::wilson;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::incomplete::beta_tails;
use crate::stats::special::input;
use crate::stats::special::quantile::{normal_quantile, normal_two_sided};
use crate::stats::special::root::root_from;

/// Fewest clusters whose variance is taken without a warning (common practice).
pub const ENOUGH_CLUSTERS: u64 = 10;

/// Degrees of freedom from which t is taken as normal: the quantiles differ by about a
/// millionth of themselves.
const MANY: f64 = 1e6;

/// Sums over clusters of `n` units with `y` events each. Integers, so that their order is no matter.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ClusterSums {
    /// Clusters with at least one unit.
    pub clusters: u64,
    /// Units in all clusters.
    pub n: u64,
    /// Events among them.
    pub events: u64,
    /// Sum over clusters of `n * n`, `n` the units of a cluster.
    pub sum_nn: u128,
    /// Sum over clusters of `n * y`, `y` the events of a cluster.
    pub sum_ny: u128,
    /// Sum over clusters of `y * y`.
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

/// Score interval of a clustered proportion: Wilson on units and events over the
/// [`widened_design_effect`].
///
/// `n` and `events` of the result are the counts, not the effective sizes. Under
/// [`ENOUGH_CLUSTERS`] clusters: `FewClusters`.
///
/// Source: Rao & Scott (1992) for the effective sizes, Wilson (1927) for the interval.
pub fn effective_wilson(sums: &ClusterSums, level: f64) -> Estimate {
    let deff = widened_design_effect(sums, level);
    let mut estimate = wilson(sums.events as f64 / deff, sums.n as f64 / deff, level);
    estimate.n = sums.n as f64;
    estimate.events = sums.events;
    estimate.method = "Wilson on effective size";
    if sums.clusters > 0 && sums.clusters < ENOUGH_CLUSTERS {
        estimate.warnings.push(Warning::FewClusters);
    }
    estimate
}

/// The design effect that intervals and tests at `level` divide by: widened for being estimated
/// itself, and then never below 1.
///
/// The widening is the squared ratio of the t quantile to the normal one, with one degree of freedom
/// less than the effective number of clusters, `(sum n)^2 / sum n^2`: a few large clusters tell less
/// of the variance than their number says. Nothing is widened where nothing was estimated (all or no
/// events, one cluster).
///
/// Source: Korn & Graubard (1998), Surv. Methodol. 24, 193-201, for the degrees of freedom, and Kish
/// (1965), Survey Sampling, for the effective number [both from memory].
pub fn widened_design_effect(sums: &ClusterSums, level: f64) -> f64 {
    let deff = design_effect(sums).deff;
    if sums.clusters < 2 || sums.events == 0 || sums.events >= sums.n {
        return deff;
    }
    let effective = (sums.n as f64).powi(2) / sums.sum_nn as f64;
    (deff * t_over_normal(level, effective - 1.0).powi(2)).max(1.0)
}

/// How many times wider an interval is at `level` whose variance has `df` degrees of freedom than
/// one whose variance is known: the t quantile over the normal one, at least 1.
pub(in crate::stats) fn t_over_normal(level: f64, df: f64) -> f64 {
    let normal = normal_quantile(level);
    if normal > 0.0 { (student_quantile(level, df) / normal).max(1.0) } else { 1.0 }
}

/// Two-sided quantile of Student's t at `level`. `df` below 1 counts as 1.
///
/// Source: Student (1908), Biometrika 6, 1-25; by inversion of the incomplete beta function.
fn student_quantile(level: f64, df: f64) -> f64 {
    let df = input::amount(df).max(1.0);
    let normal = normal_quantile(level);
    if df >= MANY {
        return normal;
    }
    let target = (2.0 * input::tail(level)).ln();
    // Falling in t, so the root is sought of what rises.
    let rising = |log_t: f64| {
        let square = (2.0 * log_t).exp();
        let share = 1.0 / (1.0 + square / df);
        let outside = beta_tails(0.5 * df, 0.5, share, 1.0 / (1.0 + df / square)).0;
        target - outside.max(1e-300).ln()
    };
    root_from(rising, normal.max(1e-6).ln(), 0.5).exp()
}

/// Two-sided p value of Student's `t` with `df` degrees of freedom (below 1 counts as 1).
///
/// Source: Student (1908), Biometrika 6, 1-25; the tail as an incomplete beta function.
pub(in crate::stats) fn student_two_sided(t: f64, df: f64) -> f64 {
    let df = input::amount(df).max(1.0);
    let square = t * t;
    if df >= MANY || !square.is_finite() {
        return normal_two_sided(t);
    }
    beta_tails(0.5 * df, 0.5, df / (df + square), square / (df + square)).0.clamp(0.0, 1.0)
}
