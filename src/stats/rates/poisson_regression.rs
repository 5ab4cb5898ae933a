//! Poisson regression with a log link.
//!
//! Promises to say where it did not converge and where a coefficient runs off to infinity. Stops at dense
//! designs of a few dozen columns; many strata with one exposure are in `stratified_poisson`.

use super::poisson_error::{PoissonError, check};
use crate::stats::estimate::Warning;
use crate::stats::special::cholesky::{dot, inverse, times};
use std::collections::BTreeMap;

const MOST_STEPS: usize = 100;
/// Relative change of the deviance at which the fit stands still.
const TOLERANCE: f64 = 1e-13;
/// A fitted log rate this far under that of all rows together belongs to a group without events, whose
/// coefficient has no finite estimate (one event in three million of the common rate).
const SEPARATED: f64 = 15.0;

/// Rows of a regression.
#[derive(Clone, Copy, Debug)]
pub struct PoissonData<'a> {
    /// Events a row.
    pub events: &'a [f64],
    /// Columns of the design, an intercept among them if there is to be one.
    pub columns: &'a [Vec<f64>],
    /// Log exposure a row.
    pub offset: &'a [f64],
    /// Cluster a row, for the robust covariance.
    pub clusters: Option<&'a [u64]>,
}

/// A fitted regression.
#[derive(Clone, Debug, PartialEq)]
pub struct PoissonFit {
    /// Coefficients on the log scale, in the order of the columns.
    pub coefficients: Vec<f64>,
    /// Their covariance if the counts are Poisson; times `dispersion` for quasi-Poisson.
    pub covariance: Vec<Vec<f64>>,
    /// Their cluster-robust covariance, with the factor `g / (g - 1)` for `g` clusters. `None` without
    /// clusters or with one.
    pub robust: Option<Vec<Vec<f64>>>,
    /// Clusters.
    pub clusters: usize,
    /// Fitted events a row.
    pub fitted: Vec<f64>,
    /// Deviance.
    pub deviance: f64,
    /// Pearson's chi-square.
    pub pearson: f64,
    /// Rows less columns.
    pub df: usize,
    /// `pearson / df`; `None` without degrees of freedom.
    pub dispersion: Option<f64>,
    /// `NotConverged`; `Boundary` where a coefficient has no finite estimate; `FewClusters`.
    pub warnings: Vec<Warning>,
}

/// Maximum-likelihood Poisson regression by iteratively reweighted least squares, steps halved while the
/// deviance rises.
///
/// # Errors
/// [`PoissonError`], where the rows do not make a regression.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., sections 2.5 and 6.2; robust
/// covariance Liang & Zeger (1986), Biometrika 73, 13-22, with the small-sample factor of R's package
/// `sandwich` (`vcovCL`, type HC0, `cadjust`).
pub fn poisson_regression(data: &PoissonData) -> Result<PoissonFit, PoissonError> {
    check(data)?;
    let mut warnings = Vec::new();
    let (coefficients, converged) = climb(data)?;
    if !converged {
        warnings.push(Warning::NotConverged);
    }
    let eta = predictor(data, &coefficients);
    let fitted: Vec<f64> = eta.iter().map(|e| e.exp()).collect();
    let covariance = inverse(&information(data.columns, &fitted))
        .map_err(|column| PoissonError::Collinear { column })?;
    if is_separated(data, &eta) {
        warnings.push(Warning::Boundary);
    }
    let (clusters, robust) = robust(data, &fitted, &covariance);
    if data.clusters.is_some()
        && clusters < crate::stats::shares::clustered::ENOUGH_CLUSTERS as usize
    {
        warnings.push(Warning::FewClusters);
    }
    let pearson = data.events.iter().zip(&fitted).map(|(y, mu)| (y - mu).powi(2) / mu).sum();
    let df = data.events.len().saturating_sub(coefficients.len());
    Ok(PoissonFit {
        deviance: deviance(data.events, &fitted),
        dispersion: (df > 0).then(|| pearson / df as f64).filter(|d: &f64| d.is_finite()),
        coefficients,
        covariance,
        robust,
        clusters,
        fitted,
        pearson,
        df,
        warnings,
    })
}

/// Coefficients, and whether they stand still.
fn climb(data: &PoissonData) -> Result<(Vec<f64>, bool), PoissonError> {
    let mut eta: Vec<f64> = data.events.iter().map(|y| (y + 0.1).ln()).collect();
    let mut beta: Option<Vec<f64>> = None;
    let mut last = f64::INFINITY;
    for _ in 0..MOST_STEPS {
        let mut next = least_squares(data, &eta)?;
        let mut reached = deviance_at(data, &next);
        if let Some(beta) = &beta {
            let slack = TOLERANCE * (last + 1.0);
            for _ in 0..30 {
                if reached <= last + slack {
                    break;
                }
                next.iter_mut().zip(beta).for_each(|(n, b)| *n = 0.5 * (*n + b));
                reached = deviance_at(data, &next);
            }
        }
        eta = predictor(data, &next);
        beta = Some(next);
        if (last - reached).abs() <= TOLERANCE * (reached.abs() + 0.1) {
            return Ok((beta.unwrap_or_default(), true));
        }
        last = reached;
    }
    Ok((beta.unwrap_or_default(), false))
}

/// One step: weighted least squares on the working response at `eta`.
fn least_squares(data: &PoissonData, eta: &[f64]) -> Result<Vec<f64>, PoissonError> {
    let weight: Vec<f64> = eta.iter().map(|e| e.clamp(-200.0, 200.0).exp()).collect();
    let target: Vec<f64> = (0..eta.len())
        .map(|i| weight[i] * (eta[i] - data.offset[i]) + data.events[i] - weight[i])
        .collect();
    let score: Vec<f64> = data.columns.iter().map(|column| dot(column, &target)).collect();
    let inverse = inverse(&information(data.columns, &weight))
        .map_err(|column| PoissonError::Collinear { column })?;
    Ok(times(&inverse, &score))
}

fn information(columns: &[Vec<f64>], weight: &[f64]) -> Vec<Vec<f64>> {
    let cell =
        |a: &[f64], b: &[f64]| a.iter().zip(b).zip(weight).map(|((x, y), w)| x * y * w).sum();
    columns.iter().map(|a| columns.iter().map(|b| cell(a, b)).collect()).collect()
}

fn predictor(data: &PoissonData, beta: &[f64]) -> Vec<f64> {
    let mut eta = data.offset.to_vec();
    for (column, b) in data.columns.iter().zip(beta) {
        eta.iter_mut().zip(column).for_each(|(e, x)| *e += b * x);
    }
    eta.iter_mut().for_each(|e| *e = e.clamp(-200.0, 200.0));
    eta
}

fn deviance_at(data: &PoissonData, beta: &[f64]) -> f64 {
    let fitted: Vec<f64> = predictor(data, beta).iter().map(|e| e.exp()).collect();
    deviance(data.events, &fitted)
}

fn deviance(events: &[f64], fitted: &[f64]) -> f64 {
    2.0 * events
        .iter()
        .zip(fitted)
        .map(|(&y, &mu)| crate::stats::special::incomplete::half_deviance(y, mu))
        .sum::<f64>()
}

fn is_separated(data: &PoissonData, eta: &[f64]) -> bool {
    let events: f64 = data.events.iter().sum();
    let exposure: f64 = data.offset.iter().map(|o| o.exp()).sum();
    let common = (events / exposure).ln();
    eta.iter().zip(data.offset).any(|(e, o)| e - o < common - SEPARATED)
}

/// Number of clusters, and the robust covariance where there are two or more.
fn robust(
    data: &PoissonData,
    fitted: &[f64],
    covariance: &[Vec<f64>],
) -> (usize, Option<Vec<Vec<f64>>>) {
    let Some(ids) = data.clusters else {
        return (0, None);
    };
    let size = data.columns.len();
    let mut scores: BTreeMap<u64, Vec<f64>> = BTreeMap::new();
    for (i, id) in ids.iter().enumerate() {
        let residual = data.events[i] - fitted[i];
        let score = scores.entry(*id).or_insert_with(|| vec![0.0; size]);
        score.iter_mut().zip(data.columns).for_each(|(s, column)| *s += residual * column[i]);
    }
    let clusters = scores.len();
    if clusters < 2 {
        return (clusters, None);
    }
    let factor = clusters as f64 / (clusters as f64 - 1.0);
    let mut robust = vec![vec![0.0; size]; size];
    for score in scores.values() {
        let influence = times(covariance, score);
        for (row, a) in robust.iter_mut().zip(&influence) {
            row.iter_mut().zip(&influence).for_each(|(cell, b)| *cell += factor * a * b);
        }
    }
    (clusters, Some(robust))
}
