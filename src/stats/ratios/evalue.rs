//! How strong an unmeasured confounder would have to be.
//!
//! Promises values of 1 or more. Stops at ratios of risks or rates.

use crate::stats::estimate::Estimate;

/// E-values of an estimated ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EValue {
    /// E-value of the estimate, a ratio of 1 or more; `None` without an estimate.
    pub point: Option<f64>,
    /// E-value of the limit nearer to 1; 1 where the interval holds 1. `None` without the limit that
    /// decides.
    pub limit: Option<f64>,
}

/// Least strength of association, on the ratio scale, that a confounder must have with both exposure
/// and outcome to explain a ratio of risks or rates away: `r + sqrt(r (r - 1))`, of `1 / r` below 1.
/// `None` for a ratio that is not a positive number, or too large for one.
///
/// Source: VanderWeele & Ding (2017), Ann. Intern. Med. 167, 268-274.
pub fn e_value(ratio: f64) -> Option<f64> {
    if !ratio.is_finite() || ratio <= 0.0 {
        return None;
    }
    let r = if ratio < 1.0 { 1.0 / ratio } else { ratio };
    let value = r + r.sqrt() * (r - 1.0).sqrt();
    value.is_finite().then_some(value)
}

/// E-values of an estimated ratio and of its limit nearer to 1.
///
/// Source: as [`e_value`].
pub fn e_values(ratio: &Estimate) -> EValue {
    let point = ratio.value.and_then(e_value);
    let limit = match (ratio.low, ratio.high) {
        (Some(low), _) if low > 1.0 => e_value(low),
        (_, Some(high)) if high < 1.0 => e_value(high),
        (Some(_), _) | (_, Some(_)) => Some(1.0),
        (None, None) => None,
    };
    EValue { point, limit }
}
