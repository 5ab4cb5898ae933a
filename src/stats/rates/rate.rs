//! One rate, and the ratio of two.
//!
//! Promises exact limits from 0 events to 1e12. Stops at unstratified rates: strata are in
//! `mantel_haenszel`, standard populations in `standardised`.

use super::conditional::{mid_p_tails, one_sided_log_odds};
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::{gamma_lower_quantile, gamma_upper_quantile};
use crate::stats::special::root::root_from;

/// Exact interval of a Poisson rate, events per unit of exposure.
///
/// Each limit leaves half of `1 - level` in its tail, also at 0 events. Without exposure: no value,
/// low 0, no high, `NoData`.
///
/// Source: Garwood (1936), Biometrika 28, 437-442.
pub fn garwood(events: u64, exposure: f64, level: f64) -> Estimate {
    garwood_dispersed(events, exposure, 1.0, level)
}

/// As [`garwood`], for events that vary `phi` times as much as Poisson counts (`phi` below 1 counts
/// as 1): the exact limits at events and exposure over `phi`.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 6.2.3, for the
/// variance; that exact limits on scaled counts hold their level is shown by simulation
/// (`tests/reference/proof.csv`).
pub fn garwood_dispersed(events: u64, exposure: f64, phi: f64, level: f64) -> Estimate {
    let phi = input::scatter(phi);
    let (d, tail) = (events as f64 / phi, input::tail(level));
    let limits = (phi * gamma_lower_quantile(d, tail), phi * gamma_upper_quantile(d + 1.0, tail));
    let method = if phi > 1.0 { "Garwood, over-dispersed" } else { "Garwood" };
    rate(events, exposure, level, limits, method)
}

fn rate(
    events: u64,
    exposure: f64,
    level: f64,
    (low, high): (f64, f64),
    method: &'static str,
) -> Estimate {
    let exposure = input::amount(exposure);
    let mut estimate = Estimate {
        value: None,
        low: Some(0.0),
        high: None,
        level,
        n: exposure,
        events,
        method,
        warnings: Vec::new(),
    };
    if exposure <= 0.0 {
        estimate.warnings.push(Warning::NoData);
        return estimate;
    }
    let value = events as f64 / exposure;
    estimate.value = input::finite(value);
    estimate.low = input::finite((low / exposure).min(value));
    estimate.high = input::finite((high / exposure).max(value));
    estimate
}

/// A ratio of rates with its test.
#[derive(Clone, Debug, PartialEq)]
pub struct RateRatio {
    /// Rate of the first group over that of the second.
    pub ratio: Estimate,
    /// Two-sided p value of a ratio of 1, in [0, 1].
    pub p: f64,
}

/// Ratio of the rates `d1 / t1` and `d0 / t0`, conditional on the total of the events, with mid-P
/// limits.
///
/// The p value is twice the smaller mid-P tail, at most 1. No events on the first side: value 0 and the upper
/// limit; none on the second: no value, the lower limit, and `OneSided`. Where all events lie on one side
/// half of that one point is the tail, so that limits grow with the count. No events, or no exposure on a
/// side: nothing but `NoData`, p 1.
///
/// Source: Rothman & Greenland (1998), Modern Epidemiology, 2nd ed., chapter 14.
pub fn rate_ratio(d1: u64, t1: f64, d0: u64, t0: f64, level: f64) -> RateRatio {
    rate_ratio_scaled(d1, t1, d0, t0, 1.0, level)
}

/// By how much more than Poisson counts allow the log ratio of `d1` and `d0` events varies, of which the first vary `phi1`
/// times as much and the second `phi0` times: its variance is `phi1 / d1 + phi0 / d0`, which is that number times
/// `1 / d1 + 1 / d0`. Where the first are of a cell and the second of the rest, with the scatter of all, the cell's is taken
/// to be no less: a few blocks of it can look calmer than they are, and a test would then cry wolf.
pub fn scatter_of_ratio((d1, phi1): (u64, f64), (d0, phi0): (u64, f64)) -> f64 {
    let (d1, d0) = (d1 as f64, d0 as f64);
    let larger = phi1.max(phi0);
    let both = (larger * d0 + phi0 * d1) / (d1 + d0);
    if both.is_finite() { both } else { larger }
}

/// As [`rate_ratio`], for events that vary `phi` times as much as Poisson counts (`phi` below 1
/// counts as 1): limits and tails at all events over `phi`.
///
/// Source: as [`garwood_dispersed`].
pub fn rate_ratio_scaled(d1: u64, t1: f64, d0: u64, t0: f64, phi: f64, level: f64) -> RateRatio {
    scaled((d1 as f64, t1), (d0 as f64, t0), phi, level)
}

/// The ratio of [`rate_ratio_scaled`] where counts are effective ones and need not be whole: events and exposure of both
/// groups. Its `events` are rounded.
///
/// Source: as [`rate_ratio_scaled`].
pub fn rate_ratio_effective(
    first: (f64, f64),
    second: (f64, f64),
    phi: f64,
    level: f64,
) -> Estimate {
    scaled(first, second, phi, level).ratio
}

/// Events over what others let expect, which is known as well as from as many events as have the relative variance of what is
/// expected (`expected` above 0, with its variance as Poisson counts make it). The interval is that of the ratio of both
/// counts, events varying `phi` times as much as Poisson counts. Its `n` is what was expected.
///
/// Source: as [`rate_ratio_scaled`]; Kish (1965), Survey Sampling, for the effective count [from memory].
pub fn against_expected(
    events: u64,
    (expected, variance): (f64, f64),
    phi: f64,
    level: f64,
) -> Estimate {
    let known_as = expected * expected / variance;
    let limits = rate_ratio_effective((events as f64, expected), (known_as, known_as), phi, level);
    let method = "exact conditional mid-P on effective counts";
    Estimate { n: expected, events, method, ..limits }
}

fn scaled((d1, t1): (f64, f64), (d0, t0): (f64, f64), phi: f64, level: f64) -> RateRatio {
    let phi = input::scatter(phi);
    let (d1, d0) = (input::amount(d1), input::amount(d0));
    let events = (d1 + d0).round() as u64;
    let Some(scale) = Exposures::new(t1, t0).filter(|_| d1 > 0.0 || d0 > 0.0) else {
        return no_ratio(events, t1, t0, level);
    };
    let (x1, x0) = (d1 / phi, d0 / phi);
    let (above, below) = mid_p_tails(x1, x0, scale.log_odds_of_one);
    let p = (2.0 * above.min(below)).min(1.0);
    let (low, high) = mid_p_limits(x1, x0, input::tail(level));
    let ratio = |log_odds: f64| input::finite((log_odds - scale.log_odds_of_one).exp());
    let odds = d1.ln() - d0.ln();
    let both = d1 > 0.0 && d0 > 0.0;
    let ratio = Estimate {
        value: if d1 == 0.0 { Some(0.0) } else { ratio(odds).filter(|_| both) },
        low: low.map_or(Some(0.0), |low| ratio(if both { low.min(odds) } else { low })),
        high: high.and_then(|high| ratio(if both { high.max(odds) } else { high })),
        level,
        n: scale.total,
        events,
        method: match phi > 1.0 {
            true => "exact conditional mid-P, over-dispersed",
            false => "exact conditional mid-P",
        },
        warnings: if d0 == 0.0 { vec![Warning::OneSided] } else { Vec::new() },
    };
    RateRatio { ratio, p }
}

/// Log odds at which either mid-P tail is `tail`; none below without events on the first side, none above
/// without any on the second.
fn mid_p_limits(x1: f64, x0: f64, tail: f64) -> (Option<f64>, Option<f64>) {
    if x1 <= 0.0 {
        return (None, Some(-one_sided_log_odds(x0, 2.0 * tail)));
    }
    if x0 <= 0.0 {
        return (Some(one_sided_log_odds(x1, 2.0 * tail)), None);
    }
    let (start, step) = ((x1 / x0).ln(), (1.0 / x1 + 1.0 / x0).sqrt());
    let log = |tail: f64| tail.max(1e-300).ln();
    let low = root_from(|odds| log(mid_p_tails(x1, x0, odds).0) - log(tail), start, step);
    let high = root_from(|odds| log(tail) - log(mid_p_tails(x1, x0, odds).1), start, step);
    (Some(low), Some(high))
}

/// Exposures of both groups, and the log odds of an event falling to the first where rates are equal.
#[derive(Clone, Copy)]
struct Exposures {
    total: f64,
    log_odds_of_one: f64,
}

impl Exposures {
    fn new(t1: f64, t0: f64) -> Option<Self> {
        let (t1, t0) = (input::amount(t1), input::amount(t0));
        (t1 > 0.0 && t0 > 0.0).then(|| Self { total: t1 + t0, log_odds_of_one: t1.ln() - t0.ln() })
    }
}

fn no_ratio(events: u64, t1: f64, t0: f64, level: f64) -> RateRatio {
    let ratio = Estimate {
        value: None,
        low: None,
        high: None,
        level,
        n: input::amount(t1) + input::amount(t0),
        events,
        method: "exact conditional mid-P",
        warnings: vec![Warning::NoData],
    };
    RateRatio { ratio, p: 1.0 }
}
