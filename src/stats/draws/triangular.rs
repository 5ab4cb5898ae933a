//! What somebody believes of a number: its least, likeliest and greatest value.
//!
//! Source: Johnson (1997), The triangular distribution as a proxy for the beta distribution in risk
//! analysis, The Statistician 46, 387-398 [from memory].

/// The value with `below` of the triangular distribution below it; the likeliest one where the range is
/// empty, and the ends for what is no share.
pub fn triangular_quantile(low: f64, likely: f64, high: f64, below: f64) -> f64 {
    let (left, right, all) = (likely - low, high - likely, high - low);
    // An empty range, one in the wrong order, or one that is not a number.
    if !(all > 0.0 && left >= 0.0 && right >= 0.0 && all.is_finite()) {
        return likely;
    }
    let below = if below.is_nan() { 0.5 } else { below.clamp(0.0, 1.0) };
    let value = if below * all < left {
        low + (below * left).sqrt() * all.sqrt()
    } else {
        high - ((1.0 - below) * right).sqrt() * all.sqrt()
    };
    value.clamp(low, high)
}

/// Mean of the triangular distribution.
pub fn triangular_mean(low: f64, likely: f64, high: f64) -> f64 {
    low / 3.0 + likely / 3.0 + high / 3.0
}
