//! The top of the likelihood of a regression with its canonical link, and the scatter of what it estimates.
//!
//! One climb for logistic and Poisson regression: both are iteratively reweighted least squares, that is
//! Newton steps, and differ in what a row adds. Promises to name columns that others imply, never to step
//! where the deviance grows, and to tell a coefficient that runs off to infinity from one that was not
//! reached. Stops at dense columns of a few hundred parameters, and at fixed effects.

use super::cholesky::{inverse, times};
use std::collections::BTreeMap;
use thiserror::Error;

/// Most Newton steps; a fit that has a top takes under fifteen.
const MOST_STEPS: u32 = 60;

/// Change of any linear predictor from which the top counts as reached.
const ARRIVED: f64 = 1e-9;

/// Change of a linear predictor that cannot come with a standing deviance where there is a top:
/// under separation the predictors grow by about 1 a step for ever.
const RUNNING_AWAY: f64 = 0.3;

/// Change of the deviance that counts as standing.
const STANDING: f64 = 1e-7;

/// Why rows could not be fitted.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RegressionError {
    /// There are no rows, no columns, or nothing was counted.
    #[error("nothing to fit: {rows} rows, {columns} columns, none of the counts above 0")]
    Empty {
        /// Rows.
        rows: usize,
        /// Columns.
        columns: usize,
    },
    /// A slice has another length than there are rows.
    #[error("{what} has {found} values for {expected} rows")]
    Length {
        /// Which slice.
        what: &'static str,
        /// Its length.
        found: usize,
        /// Rows.
        expected: usize,
    },
    /// A number is not finite, or no count could be it.
    #[error("{what} has a value that cannot be used in row {row}")]
    OutOfRange {
        /// Which slice.
        what: &'static str,
        /// The row, from 0.
        row: usize,
    },
    /// A column is a combination of the ones before it, or constant zero.
    #[error("column {column} is a combination of the columns before it")]
    Dependent {
        /// The column, from 0.
        column: usize,
    },
}

/// Refuses a slice that has not one number of `least..=most` a row.
pub(in crate::stats) fn check(
    what: &'static str,
    values: &[f64],
    rows: usize,
    (least, most): (f64, f64),
) -> Result<(), RegressionError> {
    check_length(what, values.len(), rows)?;
    match values.iter().position(|value| !(least..=most).contains(value)) {
        Some(row) => Err(RegressionError::OutOfRange { what, row }),
        None => Ok(()),
    }
}

/// Refuses a slice that has not one entry a row.
pub(in crate::stats) fn check_length(
    what: &'static str,
    found: usize,
    rows: usize,
) -> Result<(), RegressionError> {
    if found == rows {
        Ok(())
    } else {
        Err(RegressionError::Length { what, found, expected: rows })
    }
}

/// Rows of a regression, and what each of them adds to the likelihood.
pub(in crate::stats) trait Rows {
    /// Covariates, column by column, one number a row each.
    fn columns(&self) -> &[Vec<f64>];

    /// Rows.
    fn rows(&self) -> usize;

    /// Whether a row says anything.
    fn tells(&self, row: usize) -> bool;

    /// What a row's linear predictor has besides its covariates.
    fn offset(&self, _row: usize) -> f64 {
        0.0
    }

    /// Variance of a row's count, and how much it lies above its mean, at the linear predictor `eta`.
    fn weight_and_residual(&self, row: usize, eta: f64) -> (f64, f64);

    /// Half of the row's part of the deviance at the linear predictor `eta`.
    fn half_deviance(&self, row: usize, eta: f64) -> f64;
}

/// Where the climb ended.
#[derive(Clone, Debug)]
pub(in crate::stats) struct Fit {
    /// Coefficients, finite also where they run away.
    pub beta: Vec<f64>,
    /// Twice the log-likelihood ratio against one parameter a row.
    pub deviance: f64,
    /// Columns whose coefficient runs off to infinity.
    pub separated: Vec<usize>,
    /// Whether the iteration arrived.
    pub converged: bool,
    /// Inverse of the information: the covariance of `beta` if all counts are independent.
    pub spread: Vec<Vec<f64>>,
}

/// Linear predictor of a row.
pub(in crate::stats) fn predictor(rows: &impl Rows, beta: &[f64], row: usize) -> f64 {
    let sum: f64 = rows.columns().iter().zip(beta).map(|(x, b)| x[row] * b).sum();
    rows.offset(row) + sum
}

/// Climbs from the coefficients `start`.
///
/// # Errors
/// [`RegressionError::Dependent`] where columns depend on each other at the start.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 2.5; Albert & Anderson
/// (1984), Biometrika 71, 1-10 (separation) [sections from memory].
pub(in crate::stats) fn climb(rows: &impl Rows, start: Vec<f64>) -> Result<Fit, RegressionError> {
    let (matrix, mut score) = information_and_score(rows, |row| predictor(rows, &start, row));
    let mut fit = Fit {
        beta: start,
        deviance: f64::INFINITY,
        separated: Vec::new(),
        converged: false,
        spread: inverse(&matrix).map_err(|column| RegressionError::Dependent { column })?,
    };
    for step in 0..MOST_STEPS {
        let change = times(&fit.spread, &score);
        let (next, deviance) = downhill(rows, &fit.beta, &change, fit.deviance);
        let moved = furthest(rows, &fit.beta, &next);
        let stands = (fit.deviance - deviance).abs() < STANDING * (1.0 + deviance);
        (fit.beta, fit.deviance) = (next, deviance);
        if step > 4 && moved > RUNNING_AWAY && stands {
            fit.separated = running_away(&change, &fit.beta);
            break;
        }
        let (matrix, next_score) =
            information_and_score(rows, |row| predictor(rows, &fit.beta, row));
        score = next_score;
        match inverse(&matrix) {
            Ok(spread) => fit.spread = spread,
            // Independent at the start: the weights of separated rows have vanished since.
            Err(column) => {
                fit.separated = vec![column];
                break;
            }
        }
        if moved < ARRIVED {
            fit.converged = true;
            break;
        }
    }
    Ok(fit)
}

/// Columns whose coefficient still moves when nothing is left to gain.
fn running_away(change: &[f64], beta: &[f64]) -> Vec<usize> {
    (0..beta.len()).filter(|j| change[*j].abs() > 1e-3 * (1.0 + beta[*j].abs())).collect()
}

/// The step, halved until the deviance does not grow.
fn downhill(rows: &impl Rows, beta: &[f64], change: &[f64], deviance: f64) -> (Vec<f64>, f64) {
    let mut share = 1.0;
    for _ in 0..40 {
        let next: Vec<f64> = beta.iter().zip(change).map(|(b, c)| b + share * c).collect();
        let there = total_deviance(rows, &next);
        if there <= deviance * (1.0 + 1e-12) + 1e-12 {
            return (next, there);
        }
        share /= 2.0;
    }
    (beta.to_vec(), deviance)
}

/// Twice the log-likelihood ratio against one parameter a row.
pub(in crate::stats) fn total_deviance(rows: &impl Rows, beta: &[f64]) -> f64 {
    let of_row = |row: usize| rows.half_deviance(row, predictor(rows, beta, row));
    2.0 * (0..rows.rows()).map(of_row).sum::<f64>()
}

/// Largest change of a linear predictor among the rows that say anything.
fn furthest(rows: &impl Rows, from: &[f64], to: &[f64]) -> f64 {
    let change: Vec<f64> = to.iter().zip(from).map(|(t, f)| t - f).collect();
    let moved =
        |row: usize| -> f64 { rows.columns().iter().zip(&change).map(|(x, c)| x[row] * c).sum() };
    (0..rows.rows())
        .filter(|row| rows.tells(*row))
        .fold(0.0, |most, row| most.max(moved(row).abs()))
}

/// Information matrix and score where the linear predictors are `eta`.
pub(in crate::stats) fn information_and_score(
    rows: &impl Rows,
    eta: impl Fn(usize) -> f64,
) -> (Vec<Vec<f64>>, Vec<f64>) {
    let order = rows.columns().len();
    let (mut matrix, mut score) = (vec![vec![0.0; order]; order], vec![0.0; order]);
    let mut x = vec![0.0; order];
    for row in 0..rows.rows() {
        for (x, column) in x.iter_mut().zip(rows.columns()) {
            *x = column[row];
        }
        let (weight, residual) = rows.weight_and_residual(row, eta(row));
        for ((line, score), left) in matrix.iter_mut().zip(&mut score).zip(&x) {
            *score += left * residual;
            for (cell, right) in line.iter_mut().zip(&x) {
                *cell += weight * left * right;
            }
        }
    }
    (matrix, score)
}

/// Score of each cluster at `beta`, in the order of their numbers; `clusters` has one entry a row.
pub(in crate::stats) fn cluster_scores(
    rows: &impl Rows,
    clusters: &[u64],
    beta: &[f64],
) -> Vec<Vec<f64>> {
    scores_by_cluster(rows, clusters, beta).into_values().collect()
}

/// The same by the number of the cluster.
pub(in crate::stats) fn scores_by_cluster(
    rows: &impl Rows,
    clusters: &[u64],
    beta: &[f64],
) -> BTreeMap<u64, Vec<f64>> {
    let mut scores: BTreeMap<u64, Vec<f64>> = BTreeMap::new();
    for row in (0..rows.rows()).filter(|row| rows.tells(*row)) {
        let (_, residual) = rows.weight_and_residual(row, predictor(rows, beta, row));
        let score = scores.entry(clusters[row]).or_insert_with(|| vec![0.0; beta.len()]);
        for (s, x) in score.iter_mut().zip(rows.columns()) {
            *s += x[row] * residual;
        }
    }
    scores
}

/// Covariance that respects clusters: the squared influences of two clusters or more on the coefficients,
/// with the factor G / (G - 1).
///
/// Source: Liang & Zeger (1986), Biometrika 73, 13-22, with the factor of R's package `sandwich` (`vcovCL`,
/// type HC0, `cadjust`).
pub(in crate::stats) fn sandwich(spread: &[Vec<f64>], scores: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let groups = scores.len() as f64;
    let mut out = vec![vec![0.0; spread.len()]; spread.len()];
    for score in scores {
        let influence = times(spread, score);
        for (row, left) in out.iter_mut().zip(&influence) {
            for (cell, right) in row.iter_mut().zip(&influence) {
                *cell += left * right * groups / (groups - 1.0);
            }
        }
    }
    out
}
