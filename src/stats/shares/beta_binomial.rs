//! Shares of many groups that differ by more than chance, each drawn towards the others.
//!
//! The groups' true shares follow a beta distribution with parameters `a`, `b`, fitted by its
//! marginal likelihood (empirical Bayes). Promises an answer for every group, the groups without
//! trials included. Stops at exchangeable groups, and takes the fitted distribution as known: the
//! intervals leave out the uncertainty of `a` and `b`.

use super::proportion::wilson;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::ascent::{Top, ascend, best_start};
use crate::stats::special::beta_quantile::beta_interval;
use crate::stats::special::input;
use crate::stats::special::rising::{log_rising_real, log_rising_slope_real};
use crate::stats::wald::Basis;

/// Range of `ln(1 / (a + b))` that is searched.
const LOG_SPREAD: (f64, f64) = (-20.0, 12.0);

/// Events among the trials of one group.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Share {
    /// Events, at most `n`; of an effective size they need not be whole.
    pub events: f64,
    /// Trials of the group.
    pub n: f64,
}

impl Share {
    /// Of counts.
    pub fn whole(events: u64, n: u64) -> Share {
        Share { events: events as f64, n: n as f64 }
    }
}

/// The fitted distribution and the groups' shrunken shares.
#[derive(Clone, Debug, PartialEq)]
pub struct BetaBinomial {
    /// First parameter of the prior; `None` where the groups differ by no more than chance.
    pub a: Option<f64>,
    /// Second parameter of the prior; `None` with `a`.
    pub b: Option<f64>,
    /// Mean of the prior, `a / (a + b)`; the pooled share at the edge; `None` without trials.
    pub mean: Option<f64>,
    /// Correlation of two trials of one group, `1 / (a + b + 1)`; 0 at the edge.
    pub correlation: f64,
    /// Marginal log-likelihood without the binomial coefficients.
    pub log_likelihood: f64,
    /// Posterior mean and equal-tailed interval of each group's share, in the order given.
    pub shares: Vec<Estimate>,
    /// What must be known of the fit: `Boundary`, `NotConverged` or `NoData`.
    pub warnings: Vec<Warning>,
}

/// Fits the beta-binomial distribution and shrinks every group's share.
///
/// `groups`: events and trials; events beyond the trials count as trials too. Where the groups
/// differ by no more than chance, or are all or nothing, there is no top inside: `Boundary`. With
/// a common chance every share is then the pooled one with its Wilson interval.
///
/// Source: Griffiths (1973), Biometrics 29, 637-648 (likelihood); Tarone (1979), Biometrika 66,
/// 585-590 (slope at the edge); Casella (1985), Am. Stat. 39, 83-87 (empirical Bayes) [from memory].
pub fn beta_binomial(groups: &[Share], level: f64) -> BetaBinomial {
    let whole = |g: &Share| {
        let events = input::amount(g.events);
        Share { events, n: input::amount(g.n).max(events) }
    };
    let groups: Vec<Share> = groups.iter().map(whole).collect();
    let total = groups.iter().fold((0.0, 0.0), |sum, g| (sum.0 + g.events, sum.1 + g.n));
    let pooled = wilson(total.0, total.1, level);
    let p = pooled.value.unwrap_or(0.0);
    if p <= 0.0 || p >= 1.0 || slope_at_edge(&groups, p) <= 0.0 {
        return without_spread(&groups, pooled);
    }
    let logit = (p / (1.0 - p)).ln();
    let f = |at: &[f64; 2]| log_likelihood(&groups, at[0], at[1]);
    let start = best_start(LOG_SPREAD, |w| f(&[logit, w]).0);
    fitted(&groups, &ascend([logit, start], f), level)
}

fn fitted(groups: &[Share], top: &Top<2>, level: f64) -> BetaBinomial {
    let spread = top.at[1].clamp(LOG_SPREAD.0, LOG_SPREAD.1).exp();
    let m = 1.0 / (1.0 + (-top.at[0]).exp());
    let edge = top.at[1] >= LOG_SPREAD.1;
    let warnings: Vec<Warning> = [(edge, Warning::Boundary), (!top.arrived, Warning::NotConverged)]
        .into_iter()
        .filter_map(|(applies, warning)| applies.then_some(warning))
        .collect();
    let (a, b) = (m / spread, (1.0 - m) / spread);
    BetaBinomial {
        a: (!edge).then_some(a),
        b: (!edge).then_some(b),
        mean: Some(m),
        correlation: spread / (1.0 + spread),
        log_likelihood: top.value,
        shares: groups.iter().map(|g| shrunken(*g, a, b, level, &warnings)).collect(),
        warnings,
    }
}

/// Log-likelihood and its gradient in `(logit m, ln s)`, with `a = m / s`, `b = (1 - m) / s`.
fn log_likelihood(groups: &[Share], logit: f64, log_spread: f64) -> (f64, [f64; 2]) {
    let m = 1.0 / (1.0 + (-logit).exp());
    let rest = 1.0 / (1.0 + logit.exp());
    let size = (-log_spread).exp();
    let (a, b) = (m * size, rest * size);
    let (mut value, mut by_a, mut by_b) = (0.0, 0.0, 0.0);
    for g in groups {
        let quiet = g.n - g.events;
        value +=
            log_rising_real(a, g.events) + log_rising_real(b, quiet) - log_rising_real(size, g.n);
        let whole = log_rising_slope_real(size, g.n);
        by_a += log_rising_slope_real(a, g.events) - whole;
        by_b += log_rising_slope_real(b, quiet) - whole;
    }
    let by_logit = (by_a - by_b) * m * rest * size;
    (value, [by_logit, -(by_a * a + by_b * b)])
}

/// Twice the slope of the log-likelihood in the spread, at no spread.
fn slope_at_edge(groups: &[Share], p: f64) -> f64 {
    groups
        .iter()
        .map(|g| {
            let (y, n) = (g.events, g.n);
            let (gap, free) = (y - n * p, n * p * (1.0 - p));
            // The centred form of Tarone's statistic: its terms stay small where counts are large.
            (gap * gap - free - gap * (1.0 - 2.0 * p)) / (p * (1.0 - p))
        })
        .sum()
}

fn without_spread(groups: &[Share], pooled: Estimate) -> BetaBinomial {
    let p = pooled.value;
    let edge = if p.is_some() { Warning::Boundary } else { Warning::NoData };
    let warnings = vec![edge];
    let log = |count: f64, share: f64| if count > 0.0 { count * share.ln() } else { 0.0 };
    let q = p.unwrap_or(0.0);
    let shares = groups.iter().map(|g| Estimate {
        n: g.n,
        events: g.events.round() as u64,
        method: "beta-binomial, pooled",
        warnings: warnings.clone(),
        ..pooled.clone()
    });
    BetaBinomial {
        a: None,
        b: None,
        mean: p,
        correlation: 0.0,
        log_likelihood: groups
            .iter()
            .map(|g| log(g.events, q) + log(g.n - g.events, 1.0 - q))
            .sum(),
        shares: shares.collect(),
        warnings,
    }
}

fn shrunken(group: Share, a: f64, b: f64, level: f64, warnings: &[Warning]) -> Estimate {
    let (a, b) = (a + group.events, b + (group.n - group.events));
    let mean = a / (a + b);
    let (low, high) = beta_interval(a, b, level);
    Basis {
        n: group.n,
        events: group.events.round() as u64,
        level,
        method: "beta-binomial empirical Bayes",
        warnings: warnings.to_vec(),
    }
    // A skew posterior can have its mean outside a narrow equal-tailed interval.
    .limits(Some(mean), Some(low.min(mean)), Some(high.max(mean)))
}
