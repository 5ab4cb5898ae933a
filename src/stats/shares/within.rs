//! Whether a share moves with something else inside strata.
//!
//! Promises one slope for all strata, each with a level of its own, and errors that respect clusters which may cut across
//! strata. Stops at one number that the share may move with.

use std::collections::BTreeMap;

use super::clustered::{ENOUGH_CLUSTERS, student_two_sided, t_over_normal};
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;

/// Units of one cell and the events among them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WithinRow {
    /// Number of the stratum; the numbers themselves mean nothing.
    pub stratum: u64,
    /// Number of the cluster, likewise.
    pub cluster: u64,
    /// Units. Rows without any are left out.
    pub n: u64,
    /// Events among them.
    pub events: u64,
    /// What the share may move with.
    pub at: f64,
}

/// A slope inside strata.
#[derive(Clone, Debug, PartialEq)]
pub struct WithinSlope {
    /// By how much the share rises where `at` is larger by 1; n are units, events those among them.
    pub slope: Estimate,
    /// Two-sided p value of a slope of 0; `None` without a slope or an error.
    pub p: Option<f64>,
    /// Clusters that say something.
    pub clusters: u64,
    /// Degrees of freedom of the error.
    pub df: f64,
}

/// Slope of a share on `at`, weighted by units, each stratum with a level of its own, with cluster-robust errors.
///
/// `b = sum n (x - m) (s - p) / sum n (x - m)^2`, `m` and `p` the means of the stratum; with the residuals `e` the error is
/// the root of `g / (g - 1) sum u^2` over the same denominator, `u = sum n (x - m) e` over a cluster's rows, and `g` the
/// clusters whose `u` can be other than 0. Student's t with one degree of freedom less than the effective number of
/// clusters, `(sum w)^2 / sum w^2`, `w` a cluster's part of the denominator: few large clusters tell little of a variance. Under [`ENOUGH_CLUSTERS`] clusters: `FewClusters`. Strata in which `at`
/// does not move say nothing; none that moves, or fewer than two clusters: `NoData`.
///
/// Source: levels of strata swept out as Frisch & Waugh (1933) and Lovell (1963); errors Liang & Zeger (1986), Biometrika
/// 73, 13-22; factor and t as Cameron & Miller (2015), J. Hum. Resour. 50, 317-372; effective number as
/// Kish (1965), Survey Sampling [all from memory].
pub fn within_slope(rows: &[WithinRow], level: f64) -> WithinSlope {
    let mut strata: BTreeMap<u64, [f64; 3]> = BTreeMap::new();
    let told = |row: &&WithinRow| row.n > 0 && row.at.is_finite();
    for row in rows.iter().filter(told) {
        let sums = strata.entry(row.stratum).or_default();
        let n = row.n as f64;
        let events = row.events.min(row.n) as f64;
        for (sum, more) in sums.iter_mut().zip([n, events, n * row.at]) {
            *sum += more;
        }
    }
    // Of every row: cluster, units, events less expected at the stratum's share, distance from the stratum's mean.
    let centred: Vec<(u64, f64, f64, f64)> = rows
        .iter()
        .filter(told)
        .filter_map(|row| {
            let [n, events, at] = *strata.get(&row.stratum)?;
            let units = row.n as f64;
            let excess = row.events.min(row.n) as f64 - units * events / n;
            Some((row.cluster, units, excess, row.at - at / n))
        })
        .collect();
    let spread: f64 = centred.iter().map(|(_, n, _, x)| n * x * x).sum();
    let total: f64 = centred.iter().map(|(_, n, _, _)| n).sum();
    let largest = centred.iter().map(|(.., x)| x.abs()).fold(0.0, f64::max);
    let mut slope = Estimate {
        value: None,
        low: None,
        high: None,
        level,
        n: total,
        events: rows.iter().filter(told).map(|row| row.events.min(row.n)).sum(),
        method: "slope inside strata, cluster-robust",
        warnings: Vec::new(),
    };
    // Distances that are rounding only say nothing.
    if largest < 1e-9 || spread <= 0.0 {
        slope.warnings.push(Warning::NoData);
        return WithinSlope { slope, p: None, clusters: 0, df: 0.0 };
    }
    let value = centred.iter().map(|(_, _, excess, x)| x * excess).sum::<f64>() / spread;
    // Of every cluster: its score, and its part of the spread.
    let mut scores: BTreeMap<u64, [f64; 2]> = BTreeMap::new();
    for (cluster, n, excess, x) in centred.iter().filter(|(.., x)| x.abs() > 1e-9) {
        let [score, weight] = scores.entry(*cluster).or_default();
        *score += x * (excess - n * value * x);
        *weight += n * x * x;
    }
    let clusters = scores.len() as u64;
    let squares: f64 = scores.values().map(|[score, _]| score * score).sum();
    let weights: f64 = scores.values().map(|[_, weight]| weight * weight).sum();
    if clusters < 2 {
        slope.warnings.push(Warning::NoData);
        return WithinSlope { slope, p: None, clusters, df: 0.0 };
    }
    if clusters < ENOUGH_CLUSTERS {
        slope.warnings.push(Warning::FewClusters);
    }
    let g = clusters as f64;
    let error = (g / (g - 1.0) * squares).sqrt() / spread;
    let df = (spread * spread / weights - 1.0).max(1.0);
    let reach = normal_quantile(level) * t_over_normal(level, df) * error;
    slope.value = input::finite(value);
    slope.low = input::finite(value - reach);
    slope.high = input::finite(value + reach);
    let p = (error > 0.0).then(|| student_two_sided(value / error, df));
    WithinSlope { slope, p, clusters, df }
}
