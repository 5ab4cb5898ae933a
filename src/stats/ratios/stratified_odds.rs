//! One odds ratio from many tables of two by two.
//!
//! Promises that a table in which either side or either result is missing changes nothing. Stops at the
//! common odds ratio and its error over units whose luck is their own: an interval is a model's with clusters.

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

/// Trials and successes of one unit (a tool) of either side, by the position of the stratum.
pub type Unit = Vec<(usize, f64, f64)>;

/// Standard error of the log of [`stratified_odds`] where every unit of either side has odds of its own: none where a side
/// has fewer than two units, or there is no ratio. Trials and successes of a stratum are those of its units.
///
/// Source: the delta method on `ln sum(a d / n) - ln sum(b c / n)`, totals of strata held, summed by units as clusters, each
/// side times `G / (G - 1)`; checked against a case by hand.
pub fn error_over_units(strata: &[TwoSides], own: &[Unit], other: &[Unit]) -> Option<f64> {
    let usable = |of: &TwoSides| of.trials > 0.0 && of.other_trials > 0.0;
    let over = |of: &TwoSides, a: f64, d: f64| a * d / (of.trials + of.other_trials);
    let sum = |part: &dyn Fn(&TwoSides) -> f64| -> f64 {
        strata.iter().filter(|of| usable(of)).map(part).sum()
    };
    let r = sum(&|of| over(of, of.successes, of.other_trials - of.other_successes));
    let s = sum(&|of| over(of, of.other_successes, of.trials - of.successes));
    if r <= 0.0 || s <= 0.0 || own.len().min(other.len()) < 2 {
        return None;
    }
    let side = |units: &[Unit], of_unit: &dyn Fn(&TwoSides, f64, f64) -> f64| -> f64 {
        let of = |unit: &Unit| -> f64 {
            let parts = unit.iter().filter_map(|(at, n, x)| Some((strata.get(*at)?, *n, *x)));
            parts.filter(|(of, ..)| usable(of)).map(|(of, n, x)| of_unit(of, n, x)).sum()
        };
        let squares: f64 = units.iter().map(|unit| of(unit).powi(2)).sum();
        squares * units.len() as f64 / (units.len() as f64 - 1.0)
    };
    let of_own = |of: &TwoSides, n: f64, x: f64| {
        over(of, x, of.other_trials - of.other_successes) / r
            - over(of, of.other_successes, n - x) / s
    };
    let of_other = |of: &TwoSides, n: f64, x: f64| {
        over(of, of.successes, n - x) / r - over(of, x, of.trials - of.successes) / s
    };
    input::finite((side(own, &of_own) + side(other, &of_other)).sqrt())
}
