//! How far a clustered proportion changed between two samples, and whether by more than chance.
//!
//! Promises a p value that agrees with the interval: it is below `1 - level` exactly where the interval
//! at `level` leaves out 0. Stops at two samples without a common cluster.

use super::clustered::{ClusterSums, ENOUGH_CLUSTERS, Resemblance};
use super::proportion::{exact_high, exact_low};
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::root::root_within;

/// A p value below this is given as this: levels nearer to 1 are not distinguished from it.
pub const LEAST_P: f64 = 1e-12;

/// How far off a p value may be, as a share of itself.
const P_DIGITS: f64 = 1e-9;

/// One sample: its counts, and how its clusters resemble each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Units of the sample.
    pub n: u64,
    /// Events among them.
    pub events: u64,
    /// Clusters that it comes in.
    pub clusters: u64,
    /// How much the units of a cluster resemble each other.
    pub resemblance: Resemblance,
}

impl Sample {
    /// The sample that these clusters are, with nothing known of others.
    pub fn of(sums: &ClusterSums) -> Sample {
        let resemblance = Resemblance::of(sums);
        Sample { n: sums.n, events: sums.events, clusters: sums.clusters, resemblance }
    }

    /// The limit of the share that lies below (above) it; 0 (1) without units.
    fn limit(&self, level: f64, below: bool) -> f64 {
        let by = self.resemblance.divisor(level);
        let (events, n) = (self.events.min(self.n) as f64 / by, self.n as f64 / by);
        if below { exact_low(events, n, level) } else { exact_high(events, n, level) }
    }

    fn value(&self) -> Option<f64> {
        (self.n > 0).then(|| self.events.min(self.n) as f64 / self.n as f64)
    }
}

/// A change with its test.
#[derive(Clone, Debug, PartialEq)]
pub struct ShareChange {
    /// Share now less share before, in [-1, 1].
    pub difference: Estimate,
    /// Two-sided p value of no change, at least [`LEAST_P`].
    pub p: f64,
}

/// The share of `now` less that of `before`: limits of both shares, exact on effective sizes as
/// `clustered::effective_share` has them, put together as Newcombe's hybrid; the p value is that at which the
/// interval would end at 0.
///
/// A score test on sizes that are widened at one level is too ready where few clusters meet the far
/// tails that a list of tests asks for; the inverted interval is widened at the level it is asked at.
/// Without units on a side: no value, the whole of [-1, 1], `NoData`, p 1. Under 10 clusters on a side:
/// `FewClusters`.
///
/// Source: Newcombe (1998), Stat. Med. 17, 873-890, method 10, for the hybrid; that it takes any limits of
/// single shares: Zou & Donner (2008), Stat. Med. 27, 1693-1702 [from memory]; Korn & Graubard (1998) for
/// these limits.
pub fn share_change(now: &Sample, before: &Sample, level: f64) -> ShareChange {
    let mut difference = Estimate {
        value: None,
        low: Some(-1.0),
        high: Some(1.0),
        level,
        n: now.n as f64 + before.n as f64,
        events: now.events.saturating_add(before.events),
        method: "hybrid of Clopper-Pearson on effective sizes",
        warnings: Vec::new(),
    };
    if [now, before].iter().any(|sample| sample.n > 0 && sample.clusters < ENOUGH_CLUSTERS) {
        difference.warnings.push(Warning::FewClusters);
    }
    let (Some(p), Some(q)) = (now.value(), before.value()) else {
        difference.warnings.push(Warning::NoData);
        return ShareChange { difference, p: 1.0 };
    };
    let value = p - q;
    difference.value = Some(value);
    difference.low = Some((value - reach(now, before, level)).max(-1.0));
    difference.high = Some((value + reach(before, now, level)).min(1.0));
    let p = match value {
        value if value > 0.0 => inverted(now, before, value),
        value if value < 0.0 => inverted(before, now, -value),
        _ => 1.0,
    };
    ShareChange { difference, p }
}

/// How far below the difference of two shares its lower limit lies: the first may be as low as its limit, the
/// second as high.
fn reach(first: &Sample, second: &Sample, level: f64) -> f64 {
    let (p, q) = (first.value().unwrap_or_default(), second.value().unwrap_or_default());
    (p - first.limit(level, true)).max(0.0).hypot((second.limit(level, false) - q).max(0.0))
}

/// One less the level at which the limit nearer to 0 is 0, the first share being higher by `value`.
fn inverted(first: &Sample, second: &Sample, value: f64) -> f64 {
    // The limit draws in as the level falls, so it moves away from 0 as p rises.
    let clear_of_zero = |log_p: f64| value - reach(first, second, 1.0 - log_p.exp());
    let log_p = root_within(clear_of_zero, LEAST_P.ln(), 0.0, P_DIGITS);
    input::finite(log_p.exp()).unwrap_or(1.0).clamp(LEAST_P, 1.0)
}
