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
