//! What later money is worth now.
//!
//! Flow 0 is paid now and not discounted, flow `k` at the end of period `k`. Promises nothing that is not
//! finite; a rate at or below -1 is none and counts as 0. Stops at one rate for all periods.
//!
//! Source: Brealey, Myers & Allen, Principles of Corporate Finance, chapters 2 and 5 [chapters from
//! memory]; the values of the tests are published with a general-purpose library.

use crate::stats::special::input;

/// A rate that formulas can take.
fn usable(rate: f64) -> f64 {
    if rate.is_finite() && rate > -1.0 { rate } else { 0.0 }
}

/// Each flow as worth at time 0.
pub fn discounted(flows: &[f64], rate: f64) -> Vec<f64> {
    let growth = 1.0 + usable(rate);
    (0..).zip(flows).map(|(period, flow)| flow / growth.powi(period)).collect()
}

/// Periods until the discounted flows have paid back what was laid out, and do so to the end; straight
/// within the period in which they do. None where they never do; 0 where nothing was laid out.
///
/// With a later outlay that takes the sum below zero again it is the last return to zero that counts.
pub fn recovered_after(flows: &[f64], rate: f64) -> Option<f64> {
    let mut sum = 0.0;
    let mut recovered = None;
    for (period, flow) in discounted(flows, rate).into_iter().enumerate() {
        let before = sum;
        sum += flow;
        if sum < 0.0 || !sum.is_finite() {
            recovered = None;
        } else if recovered.is_none() {
            let part = if before < 0.0 { -before / flow } else { 0.0 };
            recovered = Some((period as f64 - 1.0 + part).max(0.0));
        }
    }
    recovered
}

/// The rate of a period at which the flows are worth nothing now. None where their sign does not change exactly once (then
/// there is none, or more than one), or where it is -1/2 a period or less.
///
/// Source: Brealey, Myers & Allen, chapter 5 [from memory]; that one change of sign leaves one root is Descartes' rule.
pub fn internal_rate(flows: &[f64]) -> Option<f64> {
    let signs: Vec<bool> =
        flows.iter().filter(|flow| **flow != 0.0).map(|flow| *flow > 0.0).collect();
    let changes = signs.windows(2).filter(|pair| pair[0] != pair[1]).count();
    if changes != 1 || !flows.iter().all(|flow| flow.is_finite()) {
        return None;
    }
    // Worth at what one unit is worth a period later; by Horner, so that no power overflows before the sum does.
    let worth = |later: f64| flows.iter().rev().fold(0.0, |sum, flow| sum * later + flow);
    let first = if signs[0] { 1.0 } else { -1.0 };
    // From 1/2 a period lost to a rate without bounds: between them the sign turns once.
    let (mut near, mut far) = (0.0, 2.0);
    if worth(far) * first > 0.0 || worth(far).is_nan() {
        return None;
    }
    for _ in 0..200 {
        let middle = (near + far) / 2.0;
        // Once no number lies between them, every further step leaves them as they are.
        let is_last = middle == near || middle == far;
        let below = worth(middle) * first > 0.0;
        *(if below { &mut near } else { &mut far }) = middle;
        if is_last {
            break;
        }
    }
    input::finite(((near + far) / 2.0).recip() - 1.0)
}

/// What one unit at the end of each of `periods` periods is worth, the first of them after `delay`
/// periods more.
pub fn annuity(rate: f64, periods: u32, delay: u32) -> f64 {
    let rate = usable(rate);
    let periods = f64::from(periods);
    let log = rate.ln_1p();
    // The limit of the closed form for small rates.
    let worth = if rate.abs() < 1e-12 { periods } else { -(-periods * log).exp_m1() / rate };
    let worth = worth * (-f64::from(delay) * log).exp();
    if worth.is_finite() { worth } else { 0.0 }
}

/// The constant flow at the end of each of `periods` periods that is worth as much as `present`; none
/// without periods.
pub fn equivalent_flow(present: f64, rate: f64, periods: u32) -> Option<f64> {
    input::finite(present / annuity(rate, periods, 0))
}

/// The rate of one of `parts` equal parts of a period that compounds to `rate`.
pub fn part_rate(rate: f64, parts: u32) -> f64 {
    (usable(rate).ln_1p() / f64::from(parts.max(1))).exp_m1()
}
