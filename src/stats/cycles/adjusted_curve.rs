//! What a discrete-time hazard model says about one fixed mix of units: the standardised curve.
//!
//! Promises curves between 0 and 1 that never fall, with delta-method intervals inside. Stops at
//! the model: it knows nothing of trials beyond the terms that it is given.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::cholesky::{dot, times};
use crate::stats::wald::Basis;

/// The mix of units that the curve is made for.
#[derive(Clone, Copy, Debug)]
pub struct Mix<'a> {
    /// Values of the leading columns at trial 1, 2, ...: whatever changes from trial to trial.
    pub by_trial: &'a [Vec<f64>],
    /// Values of the remaining columns, one entry a kind of unit.
    pub by_unit: &'a [Vec<f64>],
    /// How many units are of each kind, at least 0: one entry for each of `by_unit`.
    pub weights: &'a [f64],
}

/// One trial of the curve.
#[derive(Clone, Debug, PartialEq)]
pub struct CurvePoint {
    /// Mean chance of success at this trial, over the whole mix (also those that would have
    /// succeeded before): the standardised hazard.
    pub hazard: Estimate,
    /// Share of the mix that has succeeded by this trial, in [0, 1].
    pub succeeded: Estimate,
}

/// Standardised hazards and cumulative success of `mix` under the coefficients `beta`.
///
/// `covariance` is that of `beta`; intervals are Wald intervals on the logit scale by the delta
/// method. Kinds whose weight is not above 0 are left out. With none left, or where columns do not
/// match `beta`, the curve is empty.
///
/// Source: Robins (1986), Math. Model. 7, 1393-1512 (g-formula); Singer & Willett (1993), J. Educ.
/// Stat. 18, 155-195 (discrete-time hazards) [from memory].
pub fn adjusted_curve(
    mix: &Mix,
    beta: &[f64],
    covariance: &[Vec<f64>],
    level: f64,
) -> Vec<CurvePoint> {
    let kinds: Vec<(&Vec<f64>, f64)> = mix
        .by_unit
        .iter()
        .zip(mix.weights.iter().copied())
        .filter(|(_, weight)| *weight > 0.0 && weight.is_finite())
        .collect();
    let total: f64 = kinds.iter().map(|kind| kind.1).sum();
    if kinds.is_empty() || !matches(mix, beta.len(), covariance) {
        return Vec::new();
    }
    let mut waiting: Vec<Waiting> = kinds.iter().map(|_| Waiting::new(beta.len())).collect();
    mix.by_trial
        .iter()
        .map(|terms| {
            let mut hazard = Averaged::new(beta.len());
            let mut left = Averaged::new(beta.len());
            for ((unit, weight), waiting) in kinds.iter().zip(&mut waiting) {
                let x: Vec<f64> = terms.iter().chain(unit.iter()).copied().collect();
                let eta: f64 = x.iter().zip(beta).map(|(x, b)| x * b).sum();
                let (p, q) = (1.0 / (1.0 + (-eta).exp()), 1.0 / (1.0 + eta.exp()));
                waiting.pass(&x, p, q);
                hazard.add(weight / total, p, x.iter().map(|x| x * p * q));
                let slope = waiting.log_slope.iter().map(|s| s * waiting.share);
                left.add(weight / total, waiting.share, slope);
            }
            CurvePoint {
                hazard: hazard.estimate(covariance, level, total, false),
                succeeded: left.estimate(covariance, level, total, true),
            }
        })
        .collect()
}

/// Whether every row of the mix has `order` columns and the covariance as many.
fn matches(mix: &Mix, order: usize, covariance: &[Vec<f64>]) -> bool {
    let square = covariance.len() == order && covariance.iter().all(|row| row.len() == order);
    let fits = |terms: &Vec<f64>| mix.by_unit.iter().all(|x| terms.len() + x.len() == order);
    square && mix.by_trial.iter().all(fits)
}

/// Units of one kind that have not succeeded yet.
struct Waiting {
    share: f64,
    log_slope: Vec<f64>,
}

impl Waiting {
    fn new(order: usize) -> Self {
        Self { share: 1.0, log_slope: vec![0.0; order] }
    }

    fn pass(&mut self, x: &[f64], p: f64, q: f64) {
        self.share *= q;
        for (slope, x) in self.log_slope.iter_mut().zip(x) {
            *slope -= p * x;
        }
    }
}

/// A weighted mean and its gradient in the coefficients.
struct Averaged {
    value: f64,
    gradient: Vec<f64>,
}

impl Averaged {
    fn new(order: usize) -> Self {
        Self { value: 0.0, gradient: vec![0.0; order] }
    }

    fn add(&mut self, weight: f64, value: f64, slope: impl Iterator<Item = f64>) {
        self.value += weight * value;
        for (g, s) in self.gradient.iter_mut().zip(slope) {
            *g += weight * s;
        }
    }

    /// This share, or with `complement` one minus it.
    fn estimate(&self, covariance: &[Vec<f64>], level: f64, n: f64, complement: bool) -> Estimate {
        let (p, q) = if complement {
            ((1.0 - self.value).max(0.0), self.value)
        } else {
            (self.value, (1.0 - self.value).max(0.0))
        };
        let basis = Basis {
            n,
            events: 0,
            level,
            method: "standardised, logit delta method",
            warnings: if p * q > 0.0 { Vec::new() } else { vec![Warning::Boundary] },
        };
        if p * q > 0.0 {
            let se =
                dot(&self.gradient, &times(covariance, &self.gradient)).max(0.0).sqrt() / (p * q);
            basis.on_logit((p / q).ln(), se)
        } else {
            basis.limits(Some(p), None, None)
        }
    }
}
