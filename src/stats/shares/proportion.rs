//! Interval of a single proportion.
//!
//! Promises limits inside [0, 1] for any counts, whole or effective. Stops at one proportion:
//! clusters are in `clustered`, differences in `difference`.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::beta_quantile::{beta_high, beta_low};
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;

/// Score interval of a proportion.
///
/// `events` of `n`, both counts or effective sizes (may be fractional); events above `n` count as
/// `n`. Value and limits are proportions in [0, 1]. With `n == 0` there is no information: no value,
/// the whole of [0, 1], `NoData`.
///
/// Source: Wilson (1927), J. Am. Stat. Assoc. 22, 209-212. Worked values: Newcombe (1998),
/// Stat. Med. 17, 857-872, table I.
pub fn wilson(events: f64, n: f64, level: f64) -> Estimate {
    let n = input::amount(n);
    let events = input::amount(events).min(n);
    let mut estimate = Estimate {
        value: None,
        low: Some(0.0),
        high: Some(1.0),
        level,
        n,
        events: events.round() as u64,
        method: "Wilson",
        warnings: Vec::new(),
    };
    if n <= 0.0 {
        estimate.warnings.push(Warning::NoData);
        return estimate;
    }
    let value = events / n;
    let (low, high) = score_limits(events, n, normal_quantile(level));
    estimate.value = Some(value);
    estimate.low = Some(low.min(value));
    estimate.high = Some(high.max(value));
    estimate
}

/// Exact interval of a proportion; counts, effective sizes and missing ones as in [`wilson`].
///
/// Source: Clopper & Pearson (1934), Biometrika 26, 404-413.
pub fn clopper_pearson(events: f64, n: f64, level: f64) -> Estimate {
    let score = wilson(events, n, level);
    let Some(value) = score.value else {
        return Estimate { method: "Clopper-Pearson", ..score };
    };
    let (n, events) = (input::amount(n), input::amount(events).min(input::amount(n)));
    Estimate {
        low: Some(exact_low(events, n, level).min(value)),
        high: Some(exact_high(events, n, level).max(value)),
        method: "Clopper-Pearson",
        ..score
    }
}

/// The lower limit of [`clopper_pearson`].
pub(in crate::stats) fn exact_low(events: f64, n: f64, level: f64) -> f64 {
    if events <= 0.0 || n <= 0.0 { 0.0 } else { beta_low(events, n - events + 1.0, level) }
}

/// The upper limit of [`clopper_pearson`].
pub(in crate::stats) fn exact_high(events: f64, n: f64, level: f64) -> f64 {
    if events >= n { 1.0 } else { beta_high(events + 1.0, n - events, level) }
}

/// Roots of `(n + z^2) p^2 - (2 e + z^2) p + e^2 / n = 0`. The lower one is taken from their
/// product, because the difference of two near equals would lose its digits at few events of many.
fn score_limits(events: f64, n: f64, z: f64) -> (f64, f64) {
    let z2 = z * z;
    let spread = z * (z2 + 4.0 * events * ((n - events) / n)).sqrt();
    let high = ((2.0 * events + z2 + spread) / (2.0 * (n + z2))).min(1.0);
    if events <= 0.0 {
        return (0.0, high);
    }
    let low = events * (events / n) / ((n + z2) * high);
    (low.min(1.0), if events >= n { 1.0 } else { high })
}
