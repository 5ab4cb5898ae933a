//! Difference of two proportions.
//!
//! Promises limits inside [-1, 1]; sizes may be effective ones. Stops at unpaired proportions.

use super::proportion::wilson;
use crate::stats::estimate::{Estimate, Warning};

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
