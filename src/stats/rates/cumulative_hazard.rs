//! Cumulative hazard from events and person-time in bands of time.
//!
//! Promises the weighted sum of the bands' rates and its interval, at the end or at every edge. Stops
//! at the last band: nothing is extrapolated.

use super::standardised::{Sums, WeightedStratum};
use crate::stats::estimate::Estimate;
use crate::stats::special::input;

/// One band of time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Width of the band, in the unit of time of `exposure`.
    pub width: f64,
    /// Events in the band.
    pub events: u64,
    /// Time that all units together were watched in the band.
    pub exposure: f64,
}

impl From<&Band> for WeightedStratum {
    fn from(band: &Band) -> Self {
        Self { weight: band.width, events: band.events, exposure: band.exposure }
    }
}

/// Cumulative hazard by the end of the last band: sum of width x events / person-time, with the gamma
/// interval whose weights are the widths. A band without person-time: no value, `Short`.
///
/// Source: piecewise-exponential form of the Nelson-Aalen estimator, Aalen, Borgan & Gjessing (2008),
/// Survival and Event History Analysis, section 5.1 [from memory]; interval Fay & Feuer (1997).
pub fn cumulative_hazard(bands: &[Band], level: f64) -> Estimate {
    cumulative_hazard_dispersed(bands, 1.0, level)
}

/// As [`cumulative_hazard`], for events that vary `phi` times as much as Poisson counts.
///
/// Source: as [`cumulative_hazard`], and [`super::standardised::fay_feuer_dispersed`].
pub fn cumulative_hazard_dispersed(bands: &[Band], phi: f64, level: f64) -> Estimate {
    let mut sums = Sums::default();
    for band in bands {
        sums.add(&band.into());
    }
    Estimate { method: method(phi), ..sums.estimate(phi, level) }
}

fn method(phi: f64) -> &'static str {
    match input::scatter(phi) > 1.0 {
        true => "piecewise hazard, Fay-Feuer, over-dispersed",
        false => "piecewise hazard, Fay-Feuer",
    }
}

/// Cumulative hazard at the end of each band, for drawing, of events that vary `phi` times as much as Poisson
/// counts; in the order of `bands`. From the first band without person-time on there is no value.
///
/// Source: as [`cumulative_hazard`].
pub fn hazard_curve(bands: &[Band], phi: f64, level: f64) -> Vec<Estimate> {
    let mut sums = Sums::default();
    let edge = |band: &Band| {
        sums.add(&band.into());
        Estimate { method: method(phi), ..sums.estimate(phi, level) }
    };
    bands.iter().map(edge).collect()
}
