//! Whether a share rises or falls along ordered groups.
//!
//! Promises no answer where nothing varies. Stops at straight lines in the scores given.

use crate::stats::special::input;
use crate::stats::special::quantile::normal_two_sided;

/// One group.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Scored {
    /// Place of the group on the scale along which a trend is looked for.
    pub score: f64,
    /// Events, at most `n`.
    pub events: u64,
    /// Trials.
    pub n: u64,
}

/// The test of a straight trend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Standard normal without a trend; above 0 where the share rises with the score.
    pub z: f64,
    /// Two-sided p value.
    pub p: f64,
    /// Change of the share per unit of score, by weighted least squares.
    pub slope: f64,
}

/// Cochran-Armitage test; `None` where scores or outcomes do not vary, or are not numbers.
///
/// The binomial variance is used (N, not N - 1, in the denominator), as in most software.
///
/// Source: Armitage (1955), Biometrics 11, 375-386; Cochran (1954), Biometrics 10, 417-451.
pub fn cochran_armitage(groups: &[Scored]) -> Option<Trend> {
    let groups: Vec<(f64, f64, f64)> = groups
        .iter()
        .filter(|g| g.n > 0)
        .map(|g| (g.score, g.events.min(g.n) as f64, g.n as f64))
        .collect();
    let n: f64 = groups.iter().map(|g| g.2).sum();
    let p = groups.iter().map(|g| g.1).sum::<f64>() / n;
    let centre = groups.iter().map(|g| g.2 / n * g.0).sum::<f64>();
    let covariance: f64 = groups.iter().map(|g| (g.0 - centre) * (g.1 - g.2 * p)).sum();
    let spread: f64 = groups.iter().map(|g| g.2 * (g.0 - centre).powi(2)).sum();
    let variance = p * (1.0 - p) * spread;
    // Equal scores leave rounding behind, not zero.
    let least = 1e-24 * n * centre * centre;
    if spread <= least || variance <= 0.0 {
        return None;
    }
    let z = input::finite(covariance / variance.sqrt())?;
    let slope = input::finite(covariance / spread)?;
    Some(Trend { z, p: normal_two_sided(z), slope })
}
