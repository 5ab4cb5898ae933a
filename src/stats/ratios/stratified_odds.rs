//! One odds ratio from many tables of two by two.
//!
//! Promises that a table in which either side or either result is missing changes nothing. Stops at the
//! common odds ratio: no interval, which a model with clusters gives.

use crate::stats::special::input;

/// Trials and successes of two sides that are alike in everything else.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TwoSides {
    /// Trials of the side whose odds are above the line.
    pub trials: f64,
    /// Their successes.
    pub successes: f64,
    /// Trials of the other side.
    pub other_trials: f64,
    /// Their successes.
    pub other_successes: f64,
}

/// The Mantel-Haenszel odds ratio over strata; none where no stratum has both sides and both results.
///
/// Source: Mantel & Haenszel (1959), J. Natl. Cancer Inst. 22, 719-748: `sum(a d / n) / sum(b c / n)`.
pub fn stratified_odds(strata: &[TwoSides]) -> Option<f64> {
    let (mut over, mut under) = (0.0, 0.0);
    for stratum in strata {
        let [n, a, m, b] =
            [stratum.trials, stratum.successes, stratum.other_trials, stratum.other_successes]
                .map(input::amount);
        let all = n + m;
        if n > 0.0 && m > 0.0 {
            over += a * (m - b).max(0.0) / all;
            under += b * (n - a).max(0.0) / all;
        }
    }
    (over > 0.0 && under > 0.0).then(|| over / under).and_then(input::finite)
}
