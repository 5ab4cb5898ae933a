//! How far a clustered proportion changed between two samples, and whether by more than chance.
//!
//! Promises a p value that agrees with the interval: it is below `1 - level` exactly where the interval
//! at `level` leaves out 0. Stops at two samples without a common cluster.

use super::clustered::{ClusterSums, ENOUGH_CLUSTERS, design_effect, t_over_normal};
use super::difference::newcombe;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::root::root;

/// A p value below this is given as this: levels nearer to 1 are not distinguished from it.
pub const LEAST_P: f64 = 1e-12;

/// One sample: its counts, and how its clusters scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Units of the sample.
    pub n: u64,
    /// Events among them.
    pub events: u64,
    /// Clusters whose scatter `deff` is.
    pub clusters: u64,
    /// Variance between clusters over the binomial one, at least 1.
    pub deff: f64,
    /// Degrees of freedom of that variance; none where nothing was estimated.
    pub df: Option<f64>,
}

impl Sample {
    /// The sample that these clusters are.
    pub fn of(sums: &ClusterSums) -> Sample {
        Sample::clustered_by(sums.n, sums.events, sums)
    }

    /// `events` of `n` units, with the scatter of clusters that may hold other units of the same kind.
    ///
    /// The degrees of freedom are one less than the effective number of clusters, which is the least
    /// of three: by units, by events, by units without one (`(sum x)^2 / sum x^2` over clusters). A
    /// rare outcome sits in few clusters, and its variance rests on them alone.
    ///
    /// Source: Rao & Scott (1992), Biometrics 48, 577-585, for the variance; Kish (1965), Survey
    /// Sampling, for the effective number, and Korn & Graubard (1998), Surv. Methodol. 24, 193-201, for
    /// the degrees of freedom [both from memory]; taking the rarer outcome's is ours, see
    /// `tests/reference/proof.csv`.
    pub fn clustered_by(n: u64, events: u64, sums: &ClusterSums) -> Sample {
        let estimated = sums.clusters > 1 && sums.events > 0 && sums.events < sums.n;
        let deff = if estimated { design_effect(sums).deff } else { 1.0 };
        let df = estimated.then(|| (effective_clusters(sums) - 1.0).max(1.0));
        Sample { n, events: events.min(n), clusters: sums.clusters, deff, df }
    }

    /// Units and events over the design effect, widened at `level` for its degrees of freedom and
    /// then never below 1.
    fn effective(&self, level: f64) -> (f64, f64) {
        let widening = self.df.map_or(1.0, |df| t_over_normal(level, df).powi(2));
        let by = (self.deff * widening).max(1.0);
        (self.events as f64 / by, self.n as f64 / by)
    }
}

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

/// A change with its test.
#[derive(Clone, Debug, PartialEq)]
pub struct ShareChange {
    /// Share now less share before, in [-1, 1].
    pub difference: Estimate,
    /// Two-sided p value of no change, at least [`LEAST_P`].
    pub p: f64,
}

/// The share of `now` less that of `before`: Newcombe's hybrid score interval on effective sizes, and the
/// p value at which that interval would end at 0.
///
/// The score test on sizes that are widened at one level is too ready where few clusters meet the far
/// tails that a list of tests asks for; the inverted interval is widened at the level it is asked at.
/// Without units on a side: no value, the whole of [-1, 1], `NoData`, p 1. Under 10 clusters on a side:
/// `FewClusters`.
///
/// Source: Newcombe (1998), Stat. Med. 17, 873-890, method 10; Rao & Scott (1992) for the sizes.
pub fn share_change(now: &Sample, before: &Sample, level: f64) -> ShareChange {
    let mut difference = interval(now, before, level);
    if [now, before].iter().any(|sample| sample.n > 0 && sample.clusters < ENOUGH_CLUSTERS) {
        difference.warnings.push(Warning::FewClusters);
    }
    let p = match difference.value {
        Some(value) if value != 0.0 => inverted(now, before, value > 0.0),
        _ => 1.0,
    };
    ShareChange { difference, p }
}

fn interval(now: &Sample, before: &Sample, level: f64) -> Estimate {
    let ((y, n), (x, m)) = (now.effective(level), before.effective(level));
    Estimate {
        n: now.n as f64 + before.n as f64,
        events: now.events.saturating_add(before.events),
        method: "Newcombe on effective sizes",
        ..newcombe(y, n, x, m, level)
    }
}

/// One less the level at which the limit nearer to 0 is 0.
fn inverted(now: &Sample, before: &Sample, is_rise: bool) -> f64 {
    // Both ends draw in as the level falls, so the nearer one moves away from 0 as p rises.
    let clear_of_zero = |log_p: f64| {
        let at = interval(now, before, 1.0 - log_p.exp());
        if is_rise { at.low.unwrap_or(-1.0) } else { -at.high.unwrap_or(1.0) }
    };
    input::finite(root(clear_of_zero, LEAST_P.ln(), 0.0).exp()).unwrap_or(1.0).clamp(LEAST_P, 1.0)
}
