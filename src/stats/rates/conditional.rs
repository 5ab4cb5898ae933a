//! The binomial distribution of the events of one group given the events of both, on the scale of
//! its log odds.
//!
//! Promises both mid-P tails with their digits, for counts from 0 to 1e12. Stops at one stratum.

use crate::stats::special::incomplete::{beta_tails, binomial_point, half_deviance};
use crate::stats::special::quantile::normal_upper;

/// Smaller count above which the saddlepoint formula is used. The continued fraction would need
/// thousands of terms; the formula is out by under 1e-5 in the normal deviate there.
const LARGE_COUNT: f64 = 1e5;

/// Mid-P tails at `k` events of one side and `m` of the other: probability of more than `k` plus half
/// that of `k`, and of less than `k` plus half that of `k`, at the given log odds.
pub(super) fn mid_p_tails(k: f64, m: f64, log_odds: f64) -> (f64, f64) {
    let x = 1.0 / (1.0 + (-log_odds).exp());
    let y = 1.0 / (1.0 + log_odds.exp());
    if k.min(m) > LARGE_COUNT {
        let z = signed_root(k, m, x, y, log_odds);
        return (normal_upper(z), normal_upper(-z));
    }
    let half = 0.5 * binomial_point(k, m, x, y);
    let above = if m > 0.0 { beta_tails(k + 1.0, m, x, y).0 } else { 0.0 };
    let below = if k > 0.0 { beta_tails(m + 1.0, k, y, x).0 } else { 0.0 };
    (above + half, below + half)
}

/// Log odds at which `events` events all fall to one side with probability `tail`.
pub(super) fn one_sided_log_odds(events: f64, tail: f64) -> f64 {
    // x^n = tail has the odds x / (1 - x) = 1 / (tail^(-1/n) - 1).
    -(-tail.ln() / events).exp_m1().ln()
}

/// Modified signed root of the deviance, which is nearly a standard normal deviate.
///
/// Source: Barndorff-Nielsen (1986), Biometrika 73, 307-322; without continuity correction it stands
/// for the mid-P tail, see Davison (2003), Statistical Models, section 12.3 [both from memory].
fn signed_root(k: f64, m: f64, x: f64, y: f64, log_odds: f64) -> f64 {
    let n = k + m;
    let gap = (k / m).ln() - log_odds;
    let deviance = half_deviance(k, n * x) + half_deviance(m, n * y);
    let root = (2.0 * deviance.max(0.0)).sqrt().copysign(gap);
    let wald = gap * (k * (m / n)).sqrt();
    if root.abs() < 1e-6 || wald / root <= 0.0 || !(wald / root).is_finite() {
        return root;
    }
    root + (wald / root).ln() / root
}
