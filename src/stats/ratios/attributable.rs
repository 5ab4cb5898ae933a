//! The share of events that goes with an exposure.
//!
//! Promises fractions at most 1; negative ones stand (nothing is truncated at zero). Stops at one ratio:
//! the fraction of a shrunken cell is in `random_effects`.

use crate::stats::estimate::Estimate;
use crate::stats::special::input;

/// Attributable fraction among the exposed, `1 - 1 / r`, of an estimated ratio of rates `r`.
///
/// A ratio without an upper limit gives the limit 1; one whose lower limit is 0 gives no lower limit.
///
/// Source: Miettinen (1974), Am. J. Epidemiol. 99, 325-332.
pub fn exposed_fraction(ratio: &Estimate) -> Estimate {
    let fraction = |r: f64| if r > 0.0 { input::finite(1.0 - 1.0 / r) } else { None };
    let unbounded = ratio.low.is_some() && ratio.high.is_none();
    Estimate {
        value: ratio.value.and_then(fraction),
        low: ratio.low.and_then(fraction),
        high: if unbounded { Some(1.0) } else { ratio.high.and_then(fraction) },
        method: "attributable fraction",
        ..ratio.clone()
    }
}
