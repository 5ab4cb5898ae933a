//! Trials until the first success at one constant chance, with right censoring.
//!
//! Promises the same answer for grouped and single records, and an answer at both edges. Stops at
//! a common chance: `beta_geometric` lets it differ between units.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::shares::proportion::wilson;

/// Units still at risk at one trial, and their successes at it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Trial {
    /// Units that made this trial.
    pub at_risk: u64,
    /// Units that succeeded at it.
    pub events: u64,
}

/// The geometric distribution that fits best.
#[derive(Clone, Debug, PartialEq)]
pub struct Geometric {
    /// Chance of success at every trial, in `[0, 1]`; `n` counts trials. Wilson interval: given the
    /// trials made, the likelihood is the binomial one.
    pub chance: Estimate,
    /// Standard error of the chance from the observed information; 0 at the edges.
    pub standard_error: f64,
    /// Log-likelihood at the chance, 0 without trials.
    pub log_likelihood: f64,
}

/// Units at risk at trials 1, 2, ..., from successes at them and units that left after them.
///
/// `events[k]` succeeded at trial `k + 1`; `censored[k]` made trial `k + 1` without success and
/// were not seen again. The slices may differ in length: what is missing is 0.
pub fn trials(events: &[u64], censored: &[u64]) -> Vec<Trial> {
    let length = events.len().max(censored.len());
    let at = |counts: &[u64], k: usize| counts.get(k).copied().unwrap_or(0);
    let mut at_risk = 0_u64;
    let mut table: Vec<Trial> = (0..length)
        .rev()
        .map(|k| {
            let events = at(events, k);
            at_risk = at_risk.saturating_add(events).saturating_add(at(censored, k));
            Trial { at_risk, events }
        })
        .collect();
    table.reverse();
    table
}

/// Maximum-likelihood geometric distribution with right censoring: successes over trials.
///
/// Arguments as [`trials`]; `level` in (0, 1). Without trials: `NoData`. With all or no successes
/// the maximum lies on the edge: `Boundary`.
///
/// Source: Weinberg & Gladen (1986), Biometrics 42, 547-560, section 2 [from memory].
pub fn geometric(events: &[u64], censored: &[u64], level: f64) -> Geometric {
    let table = trials(events, censored);
    let (successes, made) = made(&table);
    let failures = made - successes;
    let mut chance = wilson(successes, made, level);
    let p = if made > 0.0 { successes / made } else { 0.0 };
    if made > 0.0 && (successes == 0.0 || failures == 0.0) {
        chance.warnings.push(Warning::Boundary);
    }
    Geometric {
        chance,
        standard_error: if made > 0.0 { (p * (1.0 - p) / made).sqrt() } else { 0.0 },
        log_likelihood: times_log(successes, p) + times_log(failures, 1.0 - p),
    }
}

/// Chance and log-likelihood of [`geometric`] alone; no chance without trials.
pub(super) fn common_chance(table: &[Trial]) -> (Option<f64>, f64) {
    let (successes, made) = made(table);
    let p = if made > 0.0 { successes / made } else { 0.0 };
    let log_likelihood = times_log(successes, p) + times_log(made - successes, 1.0 - p);
    ((made > 0.0).then_some(p), log_likelihood)
}

/// Successes, and trials made.
fn made(table: &[Trial]) -> (f64, f64) {
    let successes = table.iter().map(|t| t.events as f64).sum();
    (successes, table.iter().map(|t| t.at_risk as f64).sum())
}

/// `count * ln(share)`, 0 where the count is.
fn times_log(count: f64, share: f64) -> f64 {
    if count > 0.0 { count * share.ln() } else { 0.0 }
}
