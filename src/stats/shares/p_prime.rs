//! Control charts of a share whose samples differ in size: the p chart and Laney's p-prime chart.
//!
//! Promises limits in `[0, 1]` and no point for an empty sample. Stops at three-sigma limits; what
//! counts as a signal inside them is in `run_rules`.

use crate::stats::special::input;

/// Mean range of two normal values, as charts round it. The exact value is 2 / sqrt(pi) = 1.12838;
/// published limits use this one.
const D2: f64 = 1.128;

/// Half width of the limits in standard deviations.
const SIGMAS: f64 = 3.0;

/// One sample on the chart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PPoint {
    /// Events of the sample over its trials, in [0, 1].
    pub share: f64,
    /// Distance from the centre in binomial standard deviations; 0 where those are 0.
    pub z: f64,
    /// `z` in standard deviations of the chart (binomial times `sigma_z`): what the run rules see.
    pub z_prime: f64,
    /// Lower and upper limit of the p chart, shares.
    pub binomial: (f64, f64),
    /// Lower and upper limit of the p-prime chart, shares.
    pub prime: (f64, f64),
}

/// A chart of shares.
#[derive(Clone, Debug, PartialEq)]
pub struct PChart {
    /// Centre line: all events over all trials; `None` without trials.
    pub centre: Option<f64>,
    /// Spread between samples in binomial standard deviations, from the moving range; `None` with
    /// fewer than two samples, or where all samples are alike and nothing varies. The limits of
    /// the p-prime chart are then those of the p chart.
    pub sigma_z: Option<f64>,
    /// One entry a sample, `None` for an empty one; moving ranges skip those.
    pub points: Vec<Option<PPoint>>,
}

/// The p chart and the p-prime chart of samples in time order, each `(events, trials)`.
///
/// Source: Laney (2002), Qual. Eng. 14, 531-537; p chart after Montgomery, Introduction to
/// Statistical Quality Control, section 7.2 [sections from memory].
pub fn p_prime(samples: &[(u64, u64)]) -> PChart {
    let samples: Vec<(f64, f64)> =
        samples.iter().map(|(events, n)| (*events as f64, (*n).max(*events) as f64)).collect();
    let total = samples.iter().fold((0.0, 0.0), |t, s| (t.0 + s.0, t.1 + s.1));
    let Some(centre) = input::finite(total.0 / total.1) else {
        return PChart { centre: None, sigma_z: None, points: vec![None; samples.len()] };
    };
    let spread = |n: f64| (centre * (1.0 - centre) / n).sqrt();
    // Without any spread all shares equal the centre.
    let z = |share: f64, n: f64| input::finite((share - centre) / spread(n)).unwrap_or(0.0);
    let seen = samples.iter().filter(|s| s.1 > 0.0);
    let sigma_z = moving_spread(&seen.map(|s| z(s.0 / s.1, s.1)).collect::<Vec<_>>());
    let widened = sigma_z.unwrap_or(1.0);
    let limits = |reach: f64| ((centre - reach).max(0.0), (centre + reach).min(1.0));
    let point = |(events, n): &(f64, f64)| {
        (*n > 0.0).then(|| PPoint {
            share: events / n,
            z: z(events / n, *n),
            z_prime: z(events / n, *n) / widened,
            binomial: limits(SIGMAS * spread(*n)),
            prime: limits(SIGMAS * spread(*n) * widened),
        })
    };
    PChart { centre: Some(centre), sigma_z, points: samples.iter().map(point).collect() }
}

/// Mean moving range over `D2`; `None` where there is none, or all are 0.
fn moving_spread(z: &[f64]) -> Option<f64> {
    let ranges: f64 = z.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum();
    let spread = ranges / z.len().saturating_sub(1) as f64 / D2;
    (spread > 0.0).then_some(spread)
}
