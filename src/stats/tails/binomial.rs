//! Tails of the binomial distribution.
//!
//! Promises tails from the incomplete beta function, exact to its digits for any count. Stops at one proportion that is
//! known; intervals of an unknown one are in `shares`.

use crate::stats::special::incomplete::beta_tails;

/// `P(X <= k)` of `n` trials that each have the event with chance `share`. No trials, or a chance that is no number:
/// nothing is surprising, 1.
///
/// Source: the identity of the binomial tail and the incomplete beta function, NIST Digital Library of Mathematical
/// Functions 8.17.5 [number from memory].
pub fn binomial_at_most(k: u64, n: u64, share: f64) -> f64 {
    if k >= n || share.is_nan() || share <= 0.0 {
        return 1.0;
    }
    if share >= 1.0 {
        return 0.0;
    }
    let (k, n) = (k as f64, n as f64);
    beta_tails(n - k, k + 1.0, 1.0 - share, share).0.clamp(0.0, 1.0)
}

/// `P(X > k) + P(X = k) / 2` (mid-P); the chance of an event, and one less it.
///
/// Source: as [`binomial_at_most`]; Lancaster (1961), J. Am. Stat. Assoc. 56, 223-234 (mid-P).
pub(super) fn binomial_above_mid_p(k: u64, n: f64, (event, none): (f64, f64)) -> f64 {
    let at_least = |k: f64| match k {
        k if k <= 0.0 => 1.0,
        k if k > n => 0.0,
        k => beta_tails(k, n - k + 1.0, event, none).0,
    };
    0.5 * (at_least(k as f64) + at_least(k as f64 + 1.0))
}
