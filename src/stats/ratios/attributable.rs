//! The share of events that goes with an exposure.
//!
//! Promises fractions at most 1; negative ones stand (nothing is truncated at zero). Stops at one ratio:
//! the fraction of a shrunken cell is in `random_effects`.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;

/// Attributable fraction among the exposed, `1 - 1 / r`, of an estimated ratio of rates `r`.
///
/// A ratio without an upper limit gives the limit 1; one whose lower limit is 0 gives no lower limit.
///
/// Source: Miettinen (1974), Am. J. Epidemiol. 99, 325-332.
pub fn exposed_fraction(ratio: &Estimate) -> Estimate {
    population_fraction_adjusted(ratio, 1.0)
}

/// Attributable fraction in the population from an adjusted ratio `r`: `s (1 - 1 / r)`, where `s` in
/// [0, 1] is the share of the events that the exposed have, taken as known.
///
/// Source: Miettinen (1974).
pub fn population_fraction_adjusted(ratio: &Estimate, share: f64) -> Estimate {
    let share = input::amount(share).min(1.0);
    let fraction = |r: f64| {
        if r > 0.0 { input::finite(share * (1.0 - 1.0 / r)) } else { None }
    };
    let unbounded = ratio.low.is_some() && ratio.high.is_none();
    Estimate {
        value: ratio.value.and_then(fraction),
        low: ratio.low.and_then(fraction),
        high: if unbounded { Some(share) } else { ratio.high.and_then(fraction) },
        method: "attributable fraction",
        ..ratio.clone()
    }
}

/// Attributable fraction in the population from two unstratified rates: `1 - r0 / r` with the rate `r0` of
/// the reference and `r` of all.
///
/// Interval: normal on the log of `r0 / r`, variance `1 / d0 - 1 / (d1 + d0)`. No events in the
/// reference or no person-time: no value, no limits, `NoData` (`OneSided` where the exposed have events).
///
/// Source: Miettinen (1974) for the fraction; the variance by the delta method.
pub fn population_fraction(d1: u64, t1: f64, d0: u64, t0: f64, level: f64) -> Estimate {
    let (t1, t0) = (input::amount(t1), input::amount(t0));
    let (x1, x0) = (d1 as f64, d0 as f64);
    let mut estimate = Estimate {
        value: None,
        low: None,
        high: None,
        level,
        n: t1 + t0,
        events: d1.saturating_add(d0),
        method: "population attributable fraction, log delta",
        warnings: Vec::new(),
    };
    if d0 == 0 || t0 <= 0.0 {
        let one_sided = d1 > 0 && t1 > 0.0 && t0 > 0.0;
        estimate.warnings.push(if one_sided { Warning::OneSided } else { Warning::NoData });
        return estimate;
    }
    let rest = (x0 / (x1 + x0)) * ((t1 + t0) / t0);
    let reach = normal_quantile(level) * (x1 / (x1 + x0) / x0).sqrt();
    estimate.value = input::finite(1.0 - rest);
    estimate.low = input::finite(1.0 - rest * reach.exp());
    estimate.high = input::finite(1.0 - rest * (-reach).exp());
    estimate
}
