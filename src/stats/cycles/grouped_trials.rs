//! Rows of trials for a logistic regression, and what their likelihood is made of.
//!
//! Promises that rows which passed the check give finite sums for any finite coefficients. Stops at
//! sums: `discrete_logistic` climbs.

use thiserror::Error;

/// Rows to be fitted. All slices have one entry a row.
#[derive(Clone, Copy, Debug)]
pub struct Grouped<'a> {
    /// Covariates, column by column; a column of ones is the intercept.
    pub columns: &'a [Vec<f64>],
    /// Trials of the row, at least 0 (weights are allowed).
    pub trials: &'a [f64],
    /// Successes among them.
    pub events: &'a [f64],
    /// Cluster of the row; rows of one cluster may be dependent.
    pub clusters: &'a [u64],
}

/// Why nothing could be fitted.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum LogisticError {
    /// There are no columns or no trials.
    #[error("no columns or no trials to fit")]
    Empty,
    /// A slice is of another length than `trials`.
    #[error("column {column} has {found} rows, expected {expected}")]
    Length {
        /// Column, or the number of columns for events and one more for clusters.
        column: usize,
        /// Its rows.
        found: usize,
        /// Rows of `trials`.
        expected: usize,
    },
    /// A covariate is not finite, or a row has not 0 <= events <= trials.
    #[error("row {row} holds a number that is not finite or out of range")]
    OutOfRange {
        /// The row.
        row: usize,
    },
    /// A column is a combination of the ones before it, or constant zero.
    #[error("column {column} is a combination of the columns before it")]
    Dependent {
        /// The column.
        column: usize,
    },
}

/// Refuses what cannot be fitted.
pub(super) fn check(rows: &Grouped) -> Result<(), LogisticError> {
    let expected = rows.trials.len();
    if rows.columns.is_empty() || !rows.trials.iter().any(|n| *n > 0.0) {
        return Err(LogisticError::Empty);
    }
    let lengths = rows.columns.iter().map(Vec::len);
    let lengths = lengths.chain([rows.events.len(), rows.clusters.len()]);
    for (column, found) in lengths.enumerate() {
        if found != expected {
            return Err(LogisticError::Length { column, found, expected });
        }
    }
    let sound = |row: &usize| {
        let (n, y) = (rows.trials[*row], rows.events[*row]);
        (0.0..=1e15).contains(&n)
            && (0.0..=n).contains(&y)
            && rows.columns.iter().all(|x| x[*row].abs() <= 1e15)
    };
    match (0..expected).find(|row| !sound(row)) {
        Some(row) => Err(LogisticError::OutOfRange { row }),
        None => Ok(()),
    }
}

/// Logit of the chance in `row`.
pub(super) fn predictor(rows: &Grouped, beta: &[f64], row: usize) -> f64 {
    rows.columns.iter().zip(beta).map(|(x, b)| x[row] * b).sum()
}

/// Largest change of a linear predictor among the rows with trials.
pub(super) fn furthest(rows: &Grouped, from: &[f64], to: &[f64]) -> f64 {
    let change: Vec<f64> = to.iter().zip(from).map(|(t, f)| t - f).collect();
    (0..rows.trials.len())
        .filter(|row| rows.trials[*row] > 0.0)
        .fold(0.0, |most, row| most.max(predictor(rows, &change, row).abs()))
}

/// Twice the log-likelihood ratio against one parameter a row.
pub(super) fn total_deviance(rows: &Grouped, beta: &[f64]) -> f64 {
    // x ln(x / (n chance)), with -ln of the chance from its logit so that it never underflows.
    let part = |x: f64, n: f64, logit: f64| {
        let minus_log =
            if logit > 0.0 { (-logit).exp().ln_1p() } else { logit.exp().ln_1p() - logit };
        if x > 0.0 { x * ((x / n).ln() + minus_log) } else { 0.0 }
    };
    let of_row = |row: usize| {
        let (n, y, eta) = (rows.trials[row], rows.events[row], predictor(rows, beta, row));
        part(y, n, eta) + part(n - y, n, -eta)
    };
    2.0 * (0..rows.trials.len()).map(of_row).sum::<f64>()
}

/// Information matrix and score at `beta`.
pub(super) fn information_and_score(rows: &Grouped, beta: &[f64]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let order = beta.len();
    let (mut matrix, mut score) = (vec![vec![0.0; order]; order], vec![0.0; order]);
    let mut x = vec![0.0; order];
    for (row, trials) in rows.trials.iter().enumerate() {
        for (x, column) in x.iter_mut().zip(rows.columns) {
            *x = column[row];
        }
        let eta = predictor(rows, beta, row);
        let (p, q) = (1.0 / (1.0 + (-eta).exp()), 1.0 / (1.0 + eta.exp()));
        let gap = residual(rows, row, p, q);
        for ((line, score), left) in matrix.iter_mut().zip(&mut score).zip(&x) {
            *score += left * gap;
            for (cell, right) in line.iter_mut().zip(&x) {
                *cell += trials * p * q * left * right;
            }
        }
    }
    (matrix, score)
}

/// `y - n p`, written so that rare failures keep their digits as rare successes do.
pub(super) fn residual(rows: &Grouped, row: usize, p: f64, q: f64) -> f64 {
    let (n, y) = (rows.trials[row], rows.events[row]);
    if p < 0.5 { y - n * p } else { n * q - (n - y) }
}
