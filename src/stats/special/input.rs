//! What a count, an exposure and a confidence level may be on their way in, and what a result
//! may be on its way out.
//!
//! Promises that no odd number (negative, NaN, infinite, absurdly large) reaches a formula, and
//! that none leaves it. Stops there: whether a number makes sense is the caller's business.

/// Largest count or exposure that is taken at face value; its square and cube still fit.
const LARGEST: f64 = 1e90;

/// Widest level that double precision can tell from 1 in every formula of `stats`.
const WIDEST: f64 = 1.0 - 1e-12;

/// A count or exposure: finite and not negative. Anything else carries no information and is 0.
pub fn amount(x: f64) -> f64 {
    if x.is_finite() { x.clamp(0.0, LARGEST) } else { 0.0 }
}

/// Largest over-dispersion that is taken at face value: counts go up to 1e12.
const WILDEST: f64 = 1e12;

/// An over-dispersion: not below 1. What is not a number says nothing and is 1.
pub fn scatter(phi: f64) -> f64 {
    if phi.is_nan() { 1.0 } else { phi.clamp(1.0, WILDEST) }
}

/// A level in `[0, 1)`. What is not a number becomes the widest level, the cautious reading.
pub fn level(x: f64) -> f64 {
    if x.is_finite() { x.clamp(0.0, WIDEST) } else { WIDEST }
}

/// Probability left in each tail by a two-sided interval at `level`.
pub fn tail(level: f64) -> f64 {
    (1.0 - self::level(level)) / 2.0
}

/// A result, or `None` where it overflowed or is undefined.
pub fn finite(x: f64) -> Option<f64> {
    x.is_finite().then_some(x)
}
