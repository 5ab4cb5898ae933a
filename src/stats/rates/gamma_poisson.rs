//! Rates of many groups that differ by more than chance, each drawn towards the others.
//!
//! A group's events are Poisson with mean `ratio * expected`; the true ratios follow a gamma
//! distribution fitted by its marginal (negative binomial) likelihood: empirical Bayes. Promises an
//! answer for every group, those with nothing expected included. Stops at exchangeable groups, and
//! takes the fitted distribution as known: intervals leave out the uncertainty of the prior.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::ascent::{ascend_by, best_start};
use crate::stats::special::input;
use crate::stats::special::quantile::{gamma_lower_quantile, gamma_upper_quantile};
use crate::stats::special::rising::{log_rising, log_rising_slope};
use crate::stats::wald::Basis;
use statrs::function::gamma::ln_gamma;

/// Range of `ln(1 / shape)` that is searched.
const LOG_SPREAD: (f64, f64) = (-20.0, 12.0);

/// Expectations and prior means below this are none: ratios of 1e12 events to them, and their
/// products, would leave the range of a double.
const LEAST: f64 = 1e-100;

/// Events of one group and what was to be expected.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Observed {
    /// Events of the group.
    pub events: u64,
    /// Expected events (or exposure), at least 0.
    pub expected: f64,
}

/// Where the prior's mean comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PriorMean {
    /// Fitted with the shape.
    Fitted,
    /// Known beforehand: 1 where `expected` already holds the groups' common level.
    Known(f64),
}

/// The fitted distribution and the groups' shrunken ratios.
#[derive(Clone, Debug, PartialEq)]
pub struct GammaPoisson {
    /// Shape of the prior; `None` where the groups differ by no more than chance.
    pub shape: Option<f64>,
    /// Rate of the prior, shape over mean; `None` with `shape`.
    pub rate: Option<f64>,
    /// Mean of the prior of the ratios; `None` where nothing is expected.
    pub mean: Option<f64>,
    /// Marginal log-likelihood.
    pub log_likelihood: f64,
    /// Posterior mean and equal-tailed interval of each group's ratio, in the order given.
    pub ratios: Vec<Estimate>,
    /// What must be known of the fit: `Boundary`, `NotConverged` or `NoData`.
    pub warnings: Vec<Warning>,
}

/// Fits the gamma-Poisson distribution and shrinks every group's ratio `(events + shape) /
/// (expected + rate)`.
///
/// Groups with nothing expected tell nothing and get the prior. Where the groups differ by no more
/// than chance: `Boundary`, and every ratio is the common one, with Garwood's interval where it was
/// fitted and no width where it was known.
///
/// Source: Clayton & Kaldor (1987), Biometrics 43, 671-681, section 3.1 [section from memory].
pub fn gamma_poisson(groups: &[Observed], prior: PriorMean, level: f64) -> GammaPoisson {
    let groups: Vec<Observed> = groups.iter().map(|g| usable(*g)).collect();
    match climbed(&groups, prior) {
        Climbed::NoData => without_spread(&groups, [None; 3], Warning::NoData, level),
        Climbed::Edge(total) => {
            without_spread(&groups, at_edge(total, prior, level), Warning::Boundary, level)
        }
        Climbed::Top(top) => fitted(&groups, &top, level),
    }
}

/// Shape and rate of the same gamma distribution without the ratios and their intervals, much quicker to have; `None`
/// where [`GammaPoisson`] has none.
pub fn gamma_poisson_quick(groups: &[Observed], prior: PriorMean) -> Option<(f64, f64)> {
    let groups: Vec<Observed> = groups.iter().map(|g| usable(*g)).collect();
    let Climbed::Top(Inside { shape, mean, edge, .. }) = climbed(&groups, prior) else {
        return None;
    };
    (!edge).then_some((shape, shape / mean))
}

/// Where the likelihood has its top.
enum Climbed {
    /// Nothing is expected of any group.
    NoData,
    /// Where groups do not differ; events and expectation of all.
    Edge((f64, f64)),
    /// At a spread.
    Top(Inside),
}

fn climbed(groups: &[Observed], prior: PriorMean) -> Climbed {
    let total =
        groups.iter().fold((0.0, 0.0), |sum, g| (sum.0 + g.events as f64, sum.1 + g.expected));
    let common = match prior {
        PriorMean::Fitted => total.0 / total.1,
        PriorMean::Known(mean) => present(mean),
    };
    if total.1 <= 0.0 {
        return Climbed::NoData;
    }
    if common <= 0.0 || slope_at_edge(groups, common) <= 0.0 {
        return Climbed::Edge(total);
    }
    let start = best_start(LOG_SPREAD, |w| log_likelihood(groups, common.ln(), w));
    Climbed::Top(match prior {
        PriorMean::Fitted => {
            let slopes = |at: &[f64; 2]| gradient(groups, at[1], at[0]);
            let both = |at: &[f64; 2]| (log_likelihood(groups, at[1], at[0]), slopes(at));
            let top = ascend_by([start, common.ln()], both, slopes);
            Inside::of(top.at[0], top.at[1].exp(), (top.value, top.arrived))
        }
        PriorMean::Known(_) => {
            let slopes = |at: &[f64; 1]| [gradient(groups, common.ln(), at[0])[0]];
            let both = |at: &[f64; 1]| (log_likelihood(groups, common.ln(), at[0]), slopes(at));
            let top = ascend_by([start], both, slopes);
            Inside::of(top.at[0], common, (top.value, top.arrived))
        }
    })
}

/// A group with nothing expected cannot have events of its kind; they are left out.
fn usable(group: Observed) -> Observed {
    let expected = present(group.expected);
    let events = if expected > 0.0 { group.events } else { 0 };
    Observed { events, expected }
}

/// An expectation or mean, 0 where there is none to speak of.
fn present(x: f64) -> f64 {
    let x = input::amount(x);
    if x < LEAST { 0.0 } else { x }
}

/// Log-likelihood, with shape `1 / s`.
fn log_likelihood(groups: &[Observed], log_mean: f64, log_spread: f64) -> f64 {
    let (shape, mean) = ((-log_spread).exp(), log_mean.exp());
    let mut value = 0.0;
    for g in groups.iter().filter(|g| g.expected > 0.0) {
        let (y, mu) = (g.events as f64, g.expected * mean);
        let excess = (mu / shape).ln_1p();
        value += log_rising(shape, g.events) - ln_gamma(y + 1.0) - shape * excess;
        if g.events > 0 {
            value -= y * (shape / mu).ln_1p();
        }
    }
    value
}

/// Its gradient in `(ln s, ln mean)`.
fn gradient(groups: &[Observed], log_mean: f64, log_spread: f64) -> [f64; 2] {
    let (shape, mean) = ((-log_spread).exp(), log_mean.exp());
    let (mut by_shape, mut by_mean) = (0.0, 0.0);
    for g in groups.iter().filter(|g| g.expected > 0.0) {
        let (y, mu) = (g.events as f64, g.expected * mean);
        let excess = (mu / shape).ln_1p();
        by_shape += log_rising_slope(shape, g.events) - excess + (mu - y) / (shape + mu);
        by_mean += (y - mu) * shape / (shape + mu);
    }
    [-by_shape * shape, by_mean]
}

/// Twice the slope of the log-likelihood in the spread, at no spread.
fn slope_at_edge(groups: &[Observed], mean: f64) -> f64 {
    groups
        .iter()
        .map(|g| {
            let gap = g.events as f64 - mean * g.expected;
            gap * gap - g.events as f64
        })
        .sum()
}

/// The distribution at a top.
struct Inside {
    shape: f64,
    mean: f64,
    /// Whether the spread lies at the end of what is searched.
    edge: bool,
    log_likelihood: f64,
    arrived: bool,
}

impl Inside {
    fn of(log_spread: f64, mean: f64, (log_likelihood, arrived): (f64, bool)) -> Inside {
        Inside {
            shape: (-log_spread.clamp(LOG_SPREAD.0, LOG_SPREAD.1)).exp(),
            mean,
            edge: log_spread >= LOG_SPREAD.1,
            log_likelihood,
            arrived,
        }
    }
}

fn fitted(groups: &[Observed], top: &Inside, level: f64) -> GammaPoisson {
    let Inside { shape, mean, edge, .. } = *top;
    let warnings: Vec<Warning> = [(edge, Warning::Boundary), (!top.arrived, Warning::NotConverged)]
        .into_iter()
        .filter_map(|(applies, warning)| applies.then_some(warning))
        .collect();
    let ratio = |g: &Observed| {
        let (shape, rate) = (shape + g.events as f64, shape / mean + g.expected);
        let value = shape / rate;
        let tail = input::tail(level);
        let low = gamma_lower_quantile(shape, tail) / rate;
        let high = gamma_upper_quantile(shape, tail) / rate;
        basis(g, level, "gamma-Poisson empirical Bayes", &warnings).limits(
            Some(value),
            Some(low.min(value)),
            Some(high.max(value)),
        )
    };
    GammaPoisson {
        shape: (!edge).then_some(shape),
        rate: (!edge).then_some(shape / mean),
        mean: Some(mean),
        log_likelihood: top.log_likelihood,
        ratios: groups.iter().map(ratio).collect(),
        warnings,
    }
}

/// Common ratio with its limits.
fn at_edge(total: (f64, f64), prior: PriorMean, level: f64) -> [Option<f64>; 3] {
    match prior {
        PriorMean::Known(mean) => [Some(present(mean)); 3],
        PriorMean::Fitted => {
            let tail = input::tail(level);
            let low = gamma_lower_quantile(total.0, tail);
            let high = gamma_upper_quantile(total.0 + 1.0, tail);
            [total.0, low, high].map(|x| input::finite(x / total.1))
        }
    }
}

fn without_spread(
    groups: &[Observed],
    common: [Option<f64>; 3],
    edge: Warning,
    level: f64,
) -> GammaPoisson {
    let warnings = vec![edge];
    let log = |g: &Observed| {
        let (y, mu) = (g.events as f64, g.expected * common[0].unwrap_or(0.0));
        if mu > 0.0 { y * mu.ln() - mu - ln_gamma(y + 1.0) } else { 0.0 }
    };
    GammaPoisson {
        shape: None,
        rate: None,
        mean: common[0],
        log_likelihood: groups.iter().map(log).sum(),
        ratios: groups
            .iter()
            .map(|g| {
                basis(g, level, "gamma-Poisson, common", &warnings)
                    .limits(common[0], common[1], common[2])
            })
            .collect(),
        warnings,
    }
}

fn basis(group: &Observed, level: f64, method: &'static str, warnings: &[Warning]) -> Basis {
    Basis { n: group.expected, events: group.events, level, method, warnings: warnings.to_vec() }
}
