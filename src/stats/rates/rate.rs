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
/// The p value is twice the smaller mid-P tail, at most 1. Events on one side only: no value, the
/// exact (not mid-P) limit on the side that has one, which leaves half of `1 - level` in its tail,
/// and `OneSided`. No events, or no exposure on a side: nothing but `NoData`, p 1.
///
/// Source: Rothman & Greenland (1998), Modern Epidemiology, 2nd ed., chapter 14.
pub fn rate_ratio(d1: u64, t1: f64, d0: u64, t0: f64, level: f64) -> RateRatio {
    rate_ratio_scaled(d1, t1, d0, t0, 1.0, level)
}

/// As [`rate_ratio`], for events that vary `phi` times as much as Poisson counts (`phi` below 1
/// counts as 1): limits and tails at all events over `phi`.
///
/// For one-sided events the limit is wider the larger `phi` is.
///
/// Source: as [`garwood_dispersed`].
pub fn rate_ratio_scaled(d1: u64, t1: f64, d0: u64, t0: f64, phi: f64, level: f64) -> RateRatio {
    let phi = input::scatter(phi);
    let Some(scale) = Exposures::new(t1, t0).filter(|_| d1 > 0 || d0 > 0) else {
        return no_ratio(d1, t1, d0, t0, level);
    };
    let (x1, x0) = (d1 as f64 / phi, d0 as f64 / phi);
    let (above, below) = mid_p_tails(x1, x0, scale.log_odds_of_one);
    let p = (2.0 * above.min(below)).min(1.0);
    if d1 == 0 || d0 == 0 {
        let ratio = one_sided(d1, d0, phi, scale, level);
        return RateRatio { ratio, p };
    }
    let target = input::tail(level).ln();
    let start = (x1 / x0).ln();
    let step = (1.0 / x1 + 1.0 / x0).sqrt();
    let log_above = |log_odds: f64| mid_p_tails(x1, x0, log_odds).0.max(1e-300).ln();
    let log_below = |log_odds: f64| mid_p_tails(x1, x0, log_odds).1.max(1e-300).ln();
    let low = root_from(|log_odds| log_above(log_odds) - target, start, step);
    let high = root_from(|log_odds| target - log_below(log_odds), start, step);
    let method = match phi > 1.0 {
        true => "exact conditional mid-P, over-dispersed",
        false => "exact conditional mid-P",
    };
    let ratio = scale.estimate(d1, d0, level, method, (low, start, high));
    RateRatio { ratio, p }
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

    /// The ratio whose log odds are `low`, `value` and `high`.
    fn estimate(
        self,
        d1: u64,
        d0: u64,
        level: f64,
        method: &'static str,
        (low, value, high): (f64, f64, f64),
    ) -> Estimate {
        let ratio = |log_odds: f64| input::finite((log_odds - self.log_odds_of_one).exp());
        Estimate {
            value: ratio(value),
            low: ratio(low.min(value)),
            high: ratio(high.max(value)),
            level,
            n: self.total,
            events: d1.saturating_add(d0),
            method,
            warnings: Vec::new(),
        }
    }
}

fn one_sided(d1: u64, d0: u64, phi: f64, scale: Exposures, level: f64) -> Estimate {
    let odds = one_sided_log_odds(d1.max(d0) as f64 / phi, input::tail(level));
    let limit = if d1 == 0 { -odds } else { odds };
    let mut ratio =
        scale.estimate(d1, d0, level, "exact conditional, one-sided", (limit, limit, limit));
    ratio.value = None;
    if d1 == 0 {
        ratio.low = Some(0.0);
    } else {
        ratio.high = None;
    }
    ratio.warnings.push(Warning::OneSided);
    ratio
}

fn no_ratio(d1: u64, t1: f64, d0: u64, t0: f64, level: f64) -> RateRatio {
    let ratio = Estimate {
        value: None,
        low: None,
        high: None,
        level,
        n: input::amount(t1) + input::amount(t0),
        events: d1.saturating_add(d0),
        method: "exact conditional mid-P",
        warnings: vec![Warning::NoData],
    };
    RateRatio { ratio, p: 1.0 }
}
