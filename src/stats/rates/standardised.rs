//! Weighted sums of stratum rates: directly standardised rates, cumulative hazards.
//!
//! Promises an interval that is never too narrow for Poisson counts. Stops at fixed weights.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::{gamma_lower_quantile, gamma_upper_quantile};

/// One stratum of a weighted sum of rates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeightedStratum {
    /// Weight, any unit; weights need not sum to 1.
    pub weight: f64,
    /// Events in the stratum.
    pub events: u64,
    /// Exposure in which they happened, at least 0, any unit.
    pub exposure: f64,
}

/// `sum w d / t` over strata, with its gamma interval, for events that vary `phi` times as much as
/// Poisson counts (`phi` below 1 counts as 1): the interval at events and exposure over `phi`.
///
/// Value and limits have the unit of weight over exposure. Strata of weight 0 are ignored. A stratum
/// with weight but no exposure leaves the sum unknown: no value, no limits, `Short`. No stratum with
/// weight: the same with `NoData`.
///
/// Source: Fay & Feuer (1997), Stat. Med. 16, 791-801: the original interval, with the largest of
/// `w / t` as the step of the upper limit (the later mid-P and modified ones are not it); McCullagh &
/// Nelder (1989), Generalized Linear Models, 2nd ed., section 6.2.3, for the variance; that scaled counts
/// hold the level is shown by simulation (`tests/reference/proof.csv`).
pub fn fay_feuer_dispersed(strata: &[WeightedStratum], phi: f64, level: f64) -> Estimate {
    let mut sums = Sums::default();
    for stratum in strata {
        sums.add(stratum);
    }
    sums.estimate(phi, level)
}

/// What the interval needs of the strata so far. Private to the weighted sums of this folder, so
/// that a curve need not start again at every point.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sums {
    value: f64,
    variance: f64,
    largest: f64,
    exposure: f64,
    events: u64,
    weighted: bool,
    short: bool,
}

impl Sums {
    pub(super) fn add(&mut self, stratum: &WeightedStratum) {
        let (weight, exposure) = (input::amount(stratum.weight), input::amount(stratum.exposure));
        if weight <= 0.0 {
            return;
        }
        self.weighted = true;
        self.events = self.events.saturating_add(stratum.events);
        self.exposure += exposure;
        if exposure <= 0.0 {
            self.short = true;
            return;
        }
        let (step, events) = (weight / exposure, stratum.events as f64);
        self.value += step * events;
        self.variance += step * step * events;
        self.largest = self.largest.max(step);
    }

    pub(super) fn estimate(&self, phi: f64, level: f64) -> Estimate {
        let phi = input::scatter(phi);
        let mut estimate = Estimate {
            value: None,
            low: None,
            high: None,
            level,
            n: self.exposure,
            events: self.events,
            method: if phi > 1.0 { "Fay-Feuer, over-dispersed" } else { "Fay-Feuer" },
            warnings: Vec::new(),
        };
        if !self.weighted || self.short {
            let warning = if self.short { Warning::Short } else { Warning::NoData };
            estimate.warnings.push(warning);
            return estimate;
        }
        let (low, high) = self.limits(phi, input::tail(level));
        estimate.value = input::finite(self.value);
        estimate.low = input::finite(low.min(self.value));
        estimate.high = input::finite(high.max(self.value));
        estimate
    }

    /// Gamma quantiles with matching mean and variance. The step is taken out as the unit first, so
    /// that squares of tiny or huge rates cannot vanish or overflow.
    fn limits(&self, phi: f64, tail: f64) -> (f64, f64) {
        // Exposure over phi makes every step phi times as large.
        let unit = self.largest * phi;
        let (mean, variance) = (self.value / unit, phi * (self.variance / unit / unit));
        let low = if self.events == 0 || variance <= 0.0 {
            0.0
        } else {
            variance / mean * gamma_lower_quantile(mean * (mean / variance), tail)
        };
        let (mean, variance) = (mean + 1.0, variance + 1.0);
        let high = variance / mean * gamma_upper_quantile(mean * (mean / variance), tail);
        (low * unit, high * unit)
    }
}
