//! Whether events become more or less frequent with age: Laplace's test and the power-law process.
//!
//! Events of one unit, or of several watched over the same span and put together. Promises nothing
//! about why. Stops at one span: units that ended at different ages need `recurrence`.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::{
    gamma_lower_quantile, gamma_upper_quantile, normal_two_sided,
};
use crate::stats::wald::Basis;

/// What ended the watch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Watch {
    /// The clock, at this age.
    Until(f64),
    /// The last event, which then tells nothing about the trend.
    LastEvent,
}

/// Laplace's test of a constant rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laplace {
    /// Standard normal if the rate is constant; above 0 where it grows.
    pub u: f64,
    /// Two-sided p value.
    pub p: f64,
}

/// A process with the rate `scale * shape * t^(shape - 1)`.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerLaw {
    /// Growth: 1 is a constant rate, above 1 a growing one. Exact interval from chi-square.
    pub shape: Estimate,
    /// The factor: expected events up to age 1 of all that was put together, maximum likelihood.
    pub scale: Option<f64>,
    /// The shape without its bias in small samples; needs two events that tell.
    pub unbiased_shape: Option<f64>,
    /// Rate at the end of the watch, events per unit of time, maximum likelihood.
    pub rate_at_end: Option<f64>,
}

/// Ages of the events that tell about the trend, and the end of the watch.
fn informative(events: &[f64], watch: Watch) -> (Vec<f64>, f64) {
    let last = events.iter().copied().filter(|t| t.is_finite()).fold(0.0, f64::max);
    let end = match watch {
        Watch::Until(end) => input::amount(end),
        Watch::LastEvent => last,
    };
    let mut inside: Vec<f64> = events.iter().copied().filter(|t| *t > 0.0 && *t <= end).collect();
    inside.sort_by(f64::total_cmp);
    if watch == Watch::LastEvent {
        inside.pop();
    }
    (inside, end)
}

/// Laplace's trend test on the ages of events; `None` without events that tell.
///
/// Ages at or below 0 or after the end are left out. Normal approximation, good from about four
/// events on.
///
/// Source: Cox & Lewis (1966), The Statistical Analysis of Series of Events, section 3.3 [from
/// memory]; NIST/SEMATECH e-Handbook, section 8.2.3.4.
pub fn laplace(events: &[f64], watch: Watch) -> Option<Laplace> {
    let (ages, end) = informative(events, watch);
    let n = ages.len() as f64;
    // Centred before summing: the sum of many ages would lose the digits of the difference.
    let sum: f64 = ages.iter().map(|t| t / end - 0.5).sum();
    let u = input::finite(sum / (n / 12.0).sqrt())?;
    Some(Laplace { u, p: normal_two_sided(u) })
}

/// Maximum-likelihood power-law process with the exact interval of its shape.
///
/// With no event that tells: `NoData`. Arguments as [`laplace`].
///
/// Source: Crow (1974), Reliability analysis for complex repairable systems, in Reliability and
/// Biometry (SIAM), 379-410; MIL-HDBK-189, appendix C [sections from memory].
pub fn power_law(events: &[f64], watch: Watch, level: f64) -> PowerLaw {
    let (ages, end) = informative(events, watch);
    let told = ages.len() as f64;
    let last = if watch == Watch::LastEvent { 1.0 } else { 0.0 };
    let count = told + last;
    let sum: f64 = ages.iter().map(|t| (end / t).ln()).sum();
    let known = told > 0.0 && sum > 0.0;
    let shape = known.then(|| count / sum);
    let unbiased = shape.filter(|_| told > 1.0).map(|b| b * (told - 1.0) / count);
    let scale = shape.and_then(|b| input::finite((count.ln() - b * end.ln()).exp()));
    // 2 n shape / estimate is chi-square: with 2n degrees of freedom by the clock, 2(n - 1) after
    // an event.
    let tail = input::tail(level);
    let limit = |quantile: f64| shape.map(|_| quantile / sum);
    let basis = Basis {
        n: end,
        events: if known { count } else { told } as u64,
        level,
        method: "power law, exact",
        warnings: if known { Vec::new() } else { vec![Warning::NoData] },
    };
    let (low, high) = (gamma_lower_quantile(told, tail), gamma_upper_quantile(told, tail));
    PowerLaw {
        shape: within(basis, limit(low), shape, limit(high)),
        scale,
        unbiased_shape: unbiased,
        rate_at_end: shape.and_then(|b| input::finite(b * count / end)),
    }
}

/// After an event the estimate divides by all events but the interval knows one less, so a narrow
/// level could leave the estimate outside.
fn within(basis: Basis, low: Option<f64>, value: Option<f64>, high: Option<f64>) -> Estimate {
    let low = low.zip(value).map(|(l, v)| l.min(v));
    let high = high.zip(value).map(|(h, v)| h.max(v));
    basis.limits(value, low, high)
}
