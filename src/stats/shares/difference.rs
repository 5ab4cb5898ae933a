//! Difference of two proportions.
//!
//! Promises limits inside [-1, 1]; sizes may be effective ones. Stops at unpaired proportions.

use super::proportion::wilson;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::normal_two_sided;

/// Hybrid score interval of `events_a / n_a - events_b / n_b`, no continuity correction.
///
/// Counts or effective sizes, may be fractional. Without units on either side: no value, the whole
/// of [-1, 1], `NoData`. `n` and `events` of the result are those of both sides together.
///
/// Source: Newcombe (1998), Stat. Med. 17, 873-890, method 10.
pub fn newcombe(events_a: f64, n_a: f64, events_b: f64, n_b: f64, level: f64) -> Estimate {
    let a = wilson(events_a, n_a, level);
    let b = wilson(events_b, n_b, level);
    let mut estimate = Estimate {
        value: None,
        low: Some(-1.0),
        high: Some(1.0),
        level,
        n: a.n + b.n,
        events: a.events.saturating_add(b.events),
        method: "Newcombe hybrid score",
        warnings: Vec::new(),
    };
    let (Some(p), Some(q)) = (a.value, b.value) else {
        estimate.warnings.push(Warning::NoData);
        return estimate;
    };
    let below = |e: &Estimate, p: f64| p - e.low.unwrap_or(0.0);
    let above = |e: &Estimate, p: f64| e.high.unwrap_or(1.0) - p;
    let value = p - q;
    estimate.value = Some(value);
    estimate.low = Some((value - below(&a, p).hypot(above(&b, q))).max(-1.0));
    estimate.high = Some((value + above(&a, p).hypot(below(&b, q))).min(1.0));
    estimate
}

/// Two-sided p value of the score test that both proportions are equal, on the same sizes. Its
/// square is Pearson's chi-square on 1 degree of freedom.
///
/// 1 without units on either side, and where all or none of the units have the event.
///
/// Source: Pearson (1900); on effective sizes Rao & Scott (1992), Biometrics 48, 577-585, section 3.
pub fn score_p(events_a: f64, n_a: f64, events_b: f64, n_b: f64) -> f64 {
    let (n_a, n_b) = (input::amount(n_a), input::amount(n_b));
    let (y_a, y_b) = (input::amount(events_a).min(n_a), input::amount(events_b).min(n_b));
    let n = n_a + n_b;
    let pooled = (y_a + y_b) / n;
    let variance = pooled * (1.0 - pooled) * (1.0 / n_a + 1.0 / n_b);
    if n_a <= 0.0 || n_b <= 0.0 || variance <= 0.0 {
        return 1.0;
    }
    normal_two_sided((y_a / n_a - y_b / n_b) / variance.sqrt())
}
