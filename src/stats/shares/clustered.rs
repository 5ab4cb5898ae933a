//! Proportions whose units come in clusters that resemble each other.
//!
//! Promises sums that merge by addition, so that any split of the rows gives the same result, and says
//! how much wider an interval must be for a variance that rests on few clusters. Stops at one proportion; two of them are compared in `share_change`.

use std::cell::RefCell;

use super::proportion::clopper_pearson;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::incomplete::beta_tails;
use crate::stats::special::input;
use crate::stats::special::quantile::{normal_quantile, normal_two_sided};
use crate::stats::special::root::root_from;

/// Fewest clusters whose variance is taken without a warning (common practice).
pub const ENOUGH_CLUSTERS: u64 = 10;

/// Correlation of the units of a cluster where nothing else is known of it: taken to be on the safe side.
pub const USUAL_CORRELATION: f64 = 0.3;

/// Largest design effect that follows from it: large clusters (a site's week) hold several jobs, each with
/// luck of its own.
pub const MOST_USUAL: f64 = 4.0;

/// Units with the rarer outcome that the usual correlation counts as.
pub const PRIOR_UNITS: f64 = 4.0;

/// Degrees of freedom that the usual correlation adds.
pub const PRIOR_DF: f64 = 7.0;

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

    /// The sums without those of a part of the clusters.
    fn without(self, part: Self) -> Self {
        Self {
            clusters: self.clusters.saturating_sub(part.clusters),
            n: self.n.saturating_sub(part.n),
            events: self.events.saturating_sub(part.events),
            sum_nn: self.sum_nn.saturating_sub(part.sum_nn),
            sum_ny: self.sum_ny.saturating_sub(part.sum_ny),
            sum_yy: self.sum_yy.saturating_sub(part.sum_yy),
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

/// How much the units of a cluster resemble each other, and how well that is known.
///
/// A rare outcome sits in few clusters, and a variance that rests on two or three of them is as often far
/// too small as right; where none has it, nothing is known at all. So the variance is drawn towards that
/// of a usual correlation, which counts as [`PRIOR_UNITS`] units with the rarer outcome, and has at least
/// [`PRIOR_DF`] degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resemblance {
    /// Variance between clusters over the binomial one; may be below 1.
    pub deff: f64,
    /// Degrees of freedom of that variance; infinite where it is known.
    pub df: f64,
}

impl Resemblance {
    /// Of units that do not resemble each other.
    pub const NONE: Resemblance = Resemblance { deff: 1.0, df: f64::INFINITY };

    /// Of clusters of which nothing is known but themselves: the usual correlation is
    /// [`USUAL_CORRELATION`], its design effect at most [`MOST_USUAL`].
    pub fn of(sums: &ClusterSums) -> Resemblance {
        let usual = 1.0 + (mean_size(sums) - 1.0) * USUAL_CORRELATION;
        Self::towards(sums, usual.min(MOST_USUAL))
    }

    /// Of clusters among others whose units have this `correlation`, in [0, 1].
    ///
    /// `deff = (r d + w d0) / (r + w)`: `d` the [`design_effect`], `r` units with the rarer outcome, `d0` the
    /// effect `1 + (sum n^2 / sum n - 1) correlation`, `w` [`PRIOR_UNITS`]. Degrees of freedom: the effective
    /// number of clusters, `(sum x)^2 / sum x^2` with `x` the units of a cluster or those with the rarer
    /// outcome, whichever gives less, and [`PRIOR_DF`] more. A single cluster says nothing of `d`.
    ///
    /// Source: Kish (1965), Survey Sampling, for `d0` and the effective number, Korn & Graubard (1998),
    /// Surv. Methodol. 24, 193-201, for degrees of freedom of the variance [both from memory]. Counting
    /// the clusters with the rarer outcome, and the two prior numbers, are ours: chosen by simulation over
    /// 4 to 1,000 clusters, shares of 0.005 to 0.5 and correlations of 0 to 0.3; 8 to 1,000 clusters and
    /// shares up to 0.2 are kept in `tests/reference/proof.csv`.
    pub fn within(sums: &ClusterSums, correlation: f64) -> Resemblance {
        Self::towards(sums, 1.0 + (mean_size(sums) - 1.0) * correlation.clamp(0.0, 1.0))
    }

    fn towards(sums: &ClusterSums, usual: f64) -> Resemblance {
        let others = sums.n.saturating_sub(sums.events);
        let rarer = sums.events.min(others) as f64;
        let deff = match sums.clusters > 1 && rarer > 0.0 {
            true => {
                (rarer * design_effect(sums).deff + PRIOR_UNITS * usual) / (rarer + PRIOR_UNITS)
            }
            false => usual,
        };
        Resemblance { deff, df: effective_clusters(sums) + PRIOR_DF }
    }

    /// Of each of several groups of clusters, with the correlation in all the others as the usual one.
    pub fn among(groups: &[ClusterSums]) -> Vec<Resemblance> {
        let all = groups.iter().fold(ClusterSums::default(), |all, group| all.merge(*group));
        let one = |group: &ClusterSums| match correlation(&all.without(*group)) {
            Some(correlation) => Self::within(group, correlation),
            None => Self::of(group),
        };
        groups.iter().map(one).collect()
    }

    /// What units and events are divided by at `level`: the variance, widened for being estimated (the
    /// squared ratio of Student's quantile to the normal one), and then never below 1.
    pub fn divisor(&self, level: f64) -> f64 {
        let by = self.deff * t_over_normal(level, self.df).powi(2);
        input::finite(by).map_or(1.0, |by| by.max(1.0))
    }
}

/// Correlation of the units of a cluster that the [`Resemblance`] of these clusters stands for, in [0, 1];
/// none where no cluster has two units.
fn correlation(sums: &ClusterSums) -> Option<f64> {
    let excess = mean_size(sums) - 1.0;
    (excess > 0.0).then(|| ((Resemblance::of(sums).deff - 1.0) / excess).clamp(0.0, 1.0))
}

/// Units of the cluster that a unit is in, on average; 1 without units.
pub(super) fn mean_size(sums: &ClusterSums) -> f64 {
    if sums.n > 0 { (sums.sum_nn as f64 / sums.n as f64).max(1.0) } else { 1.0 }
}

/// Clusters of equal weight that would say as much: by units, or by those with the rarer outcome if
/// these are fewer. 0 where no cluster has the rarer one.
fn effective_clusters(sums: &ClusterSums) -> f64 {
    let ratio = |sum: u64, squares: u128| (sum as f64).powi(2) / (squares.max(1) as f64);
    let others = sums.n.saturating_sub(sums.events);
    let twice = sums.sum_ny.saturating_mul(2);
    let other_squares = sums.sum_nn.saturating_add(sums.sum_yy).saturating_sub(twice);
    ratio(sums.n, sums.sum_nn)
        .min(ratio(sums.events, sums.sum_yy))
        .min(ratio(others, other_squares))
        .min(sums.clusters as f64)
}

/// Exact interval of a clustered proportion: Clopper-Pearson on units and events over the divisor of
/// their [`Resemblance`] at `level`.
///
/// `n` and `events` of the result are the counts, not the effective sizes. Under
/// [`ENOUGH_CLUSTERS`] clusters: `FewClusters`.
///
/// Source: Korn & Graubard (1998), Surv. Methodol. 24, 193-201 [from memory], with the design effect of
/// Rao & Scott (1992) drawn towards a usual one.
pub fn effective_share(sums: &ClusterSums, level: f64) -> Estimate {
    resembling_share((sums.events, sums.n), sums.clusters, Resemblance::of(sums), level)
}

/// As [`effective_share`], of `events` of `n` units in this many clusters with this resemblance.
pub fn resembling_share(
    (events, n): (u64, u64),
    clusters: u64,
    resemblance: Resemblance,
    level: f64,
) -> Estimate {
    let by = resemblance.divisor(level);
    let mut estimate = clopper_pearson(events as f64 / by, n as f64 / by, level);
    estimate.n = n as f64;
    estimate.events = events;
    estimate.method = "Clopper-Pearson on effective size";
    if clusters > 0 && clusters < ENOUGH_CLUSTERS {
        estimate.warnings.push(Warning::FewClusters);
    }
    estimate
}

/// How many times wider an interval is at `level` whose variance has `df` degrees of freedom than
/// one whose variance is known: the t quantile over the normal one, at least 1.
///
/// All intervals of a row ask it of the same clusters, so answers are remembered: the last by the upper bits of a hash.
pub(in crate::stats) fn t_over_normal(level: f64, df: f64) -> f64 {
    type Answer = (u64, u64, f64);
    const NONE: Answer = (u64::MAX, u64::MAX, f64::NAN);
    thread_local!(static LAST: RefCell<[Answer; ANSWERS]> = const { RefCell::new([NONE; ANSWERS]) });
    let (level_bits, df_bits) = (level.to_bits(), df.to_bits());
    let place = ((level_bits ^ df_bits).wrapping_mul(HASH) >> (u64::BITS - BITS)) as usize;
    let (own_level, own_df, answer) = LAST.with_borrow(|last| last[place]);
    if (own_level, own_df) == (level_bits, df_bits) {
        return answer;
    }
    let normal = normal_quantile(level);
    let answer = if normal > 0.0 { (student_quantile(level, df) / normal).max(1.0) } else { 1.0 };
    LAST.with_borrow_mut(|last| last[place] = (level_bits, df_bits, answer));
    answer
}

/// Quantiles that a thread remembers: of so many bits of a hash.
const BITS: u32 = 8;
const ANSWERS: usize = 1 << BITS;
/// 2^64 over the golden ratio, made odd (Knuth 1973, 6.4): neighbouring numbers come to stand apart.
const HASH: u64 = 0x9e37_79b9_7f4a_7c15;

/// Two-sided quantile of Student's t at `level`. `df` below 1 counts as 1.
///
/// Source: Student (1908), Biometrika 6, 1-25; by inversion of the incomplete beta function.
fn student_quantile(level: f64, df: f64) -> f64 {
    if df >= MANY {
        return normal_quantile(level);
    }
    let df = input::amount(df).max(1.0);
    let normal = normal_quantile(level);
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
    let square = t * t;
    if df >= MANY || !square.is_finite() {
        return normal_two_sided(t);
    }
    let df = input::amount(df).max(1.0);
    beta_tails(0.5 * df, 0.5, df / (df + square), square / (df + square)).0.clamp(0.0, 1.0)
}
