//! Logistic regression on grouped or single trials, with a variance that respects clusters.
//!
//! With one row for every trial that a unit made, this is the discrete-time hazard model: the odds
//! of success at a trial given none before. Promises to name columns that others imply, and to
//! report separation instead of huge coefficients. Stops at dense columns of a few hundred
//! parameters, and at fixed effects.

pub use super::grouped_trials::{Grouped, LogisticError};
use super::grouped_trials::{
    check, furthest, information_and_score, predictor, residual, total_deviance,
};
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::cholesky::{dot, inverse, times};
use crate::stats::wald::Basis;
use std::collections::BTreeMap;

/// Most Newton steps; a fit that has a top takes under fifteen.
const MOST_STEPS: u32 = 60;

/// Change of any linear predictor from which the top counts as reached.
const ARRIVED: f64 = 1e-9;

/// Change of a linear predictor that cannot come with a standing deviance where there is a top:
/// under separation the predictors grow by about 1 a step for ever.
const RUNNING_AWAY: f64 = 0.3;

/// Change of the deviance that counts as standing.
const STANDING: f64 = 1e-7;

/// Clusters below which the sandwich is not to be trusted.
const FEW_CLUSTERS: usize = 10;

/// Largest share of the model's covariance that is added for few clusters.
///
/// Source: Morel, Bokossa & Neerchal (2003), the default of its authors' software [from memory].
const MOST_SHARE: f64 = 0.5;

/// The fitted model.
#[derive(Clone, Debug, PartialEq)]
pub struct Logistic {
    /// Log odds ratio of each column with its cluster-robust Wald interval; no value where the
    /// column is separated.
    pub coefficients: Vec<Estimate>,
    /// The coefficients as numbers, for predictions; finite also under separation.
    pub beta: Vec<f64>,
    /// Cluster-robust covariance of `beta`.
    pub covariance: Vec<Vec<f64>>,
    /// The same with the addition for few clusters that the intervals use.
    pub adjusted: Vec<Vec<f64>>,
    /// Covariance of `beta` if all trials were independent.
    pub model_covariance: Vec<Vec<f64>>,
    /// Twice the log-likelihood ratio against one parameter a row.
    pub deviance: f64,
    /// Distinct clusters.
    pub clusters: usize,
    /// Whether the iteration arrived.
    pub converged: bool,
    /// Columns whose coefficient runs to infinity because they tell success from failure.
    pub separated: Vec<usize>,
}

/// State of the iteration.
struct Fit {
    beta: Vec<f64>,
    deviance: f64,
    separated: Vec<usize>,
    converged: bool,
    /// Inverse of the information.
    spread: Vec<Vec<f64>>,
}

/// Fits a logistic regression by iteratively reweighted least squares.
///
/// Coefficients are log odds ratios. `covariance` is the sandwich over clusters with the factor
/// G / (G - 1); with one cluster it is the model's own (`FewClusters`, as below 10 clusters). It is too
/// small where clusters are few, so the intervals use `adjusted`, which adds a share of the model's own
/// covariance that vanishes with the number of clusters.
/// Separation and failure to arrive are `NotConverged` on the coefficients concerned.
///
/// # Errors
/// [`LogisticError`] where lengths differ, numbers are out of range or columns are dependent.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 4.4 (fit);
/// Liang & Zeger (1986), Biometrika 73, 13-22 (sandwich); Morel, Bokossa & Neerchal (2003), Biom. J.
/// 45, 395-409 (few clusters); Albert & Anderson (1984), Biometrika 71, 1-10 (separation) [sections
/// from memory].
pub fn discrete_logistic(rows: &Grouped, level: f64) -> Result<Logistic, LogisticError> {
    check(rows)?;
    let fit = climb(rows)?;
    let model_covariance = fit.spread;
    let scores = cluster_scores(rows, &fit.beta);
    let clusters = scores.len();
    let covariance =
        if clusters < 2 { model_covariance.clone() } else { robust(&model_covariance, &scores) };
    let mut fitted = Logistic {
        coefficients: Vec::new(),
        beta: fit.beta,
        adjusted: adjusted(rows, &model_covariance, &covariance, &scores),
        covariance,
        model_covariance,
        deviance: fit.deviance,
        clusters,
        converged: fit.converged,
        separated: fit.separated,
    };
    fitted.coefficients =
        (0..fitted.beta.len()).map(|column| coefficient(&fitted, rows, column, level)).collect();
    Ok(fitted)
}

fn climb(rows: &Grouped) -> Result<Fit, LogisticError> {
    let order = rows.columns.len();
    let (matrix, mut score) = information_and_score(rows, &vec![0.0; order]);
    let mut fit = Fit {
        beta: vec![0.0; order],
        deviance: f64::INFINITY,
        separated: Vec::new(),
        converged: false,
        spread: inverse(&matrix).map_err(|column| LogisticError::Dependent { column })?,
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
        let (matrix, next_score) = information_and_score(rows, &fit.beta);
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
fn downhill(rows: &Grouped, beta: &[f64], change: &[f64], deviance: f64) -> (Vec<f64>, f64) {
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

fn cluster_scores(rows: &Grouped, beta: &[f64]) -> Vec<Vec<f64>> {
    let mut scores: BTreeMap<u64, Vec<f64>> = BTreeMap::new();
    for row in (0..rows.trials.len()).filter(|row| rows.trials[*row] > 0.0) {
        let eta = predictor(rows, beta, row);
        let gap = residual(rows, row, 1.0 / (1.0 + (-eta).exp()), 1.0 / (1.0 + eta.exp()));
        let score = scores.entry(rows.clusters[row]).or_insert_with(|| vec![0.0; beta.len()]);
        for (s, x) in score.iter_mut().zip(rows.columns) {
            *s += x[row] * gap;
        }
    }
    scores.into_values().collect()
}

/// The sandwich: squared influences of the clusters on the coefficients, with the factor
/// G / (G - 1).
fn robust(spread: &[Vec<f64>], scores: &[Vec<f64>]) -> Vec<Vec<f64>> {
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

/// The sandwich with the addition for few clusters. `inflation` is how much larger the sandwich is
/// than the model's covariance, the mean over coefficients, and not below 1.
fn adjusted(
    rows: &Grouped,
    model: &[Vec<f64>],
    sandwich: &[Vec<f64>],
    scores: &[Vec<f64>],
) -> Vec<Vec<f64>> {
    let (order, groups) = (model.len() as f64, scores.len() as f64);
    let trials: f64 = rows.trials.iter().sum();
    let spent = if trials > order { (trials - 1.0) / (trials - order) } else { 1.0 };
    let inflation = (spent * trace_of_scores(model, scores) / order).max(1.0);
    let share =
        if groups > order { (order / (groups - order)).min(MOST_SHARE) } else { MOST_SHARE };
    let line = |(robust, own): (&Vec<f64>, &Vec<f64>)| -> Vec<f64> {
        robust.iter().zip(own).map(|(r, o)| spent * r + share * inflation * o).collect()
    };
    sandwich.iter().zip(model).map(line).collect()
}

/// Trace of the model's covariance times the scatter of the cluster scores.
fn trace_of_scores(model: &[Vec<f64>], scores: &[Vec<f64>]) -> f64 {
    let groups = scores.len() as f64;
    let factor = if groups > 1.0 { groups / (groups - 1.0) } else { 1.0 };
    scores.iter().map(|score| factor * dot(score, &times(model, score))).sum()
}

fn coefficient(fit: &Logistic, rows: &Grouped, column: usize, level: f64) -> Estimate {
    let mut warnings = Vec::new();
    if !fit.converged {
        warnings.push(Warning::NotConverged);
    }
    if fit.clusters < FEW_CLUSTERS {
        warnings.push(Warning::FewClusters);
    }
    let variance = fit.adjusted[column][column];
    let basis = Basis {
        n: rows.trials.iter().sum(),
        events: rows.events.iter().sum::<f64>() as u64,
        level,
        method: "logistic regression, cluster-robust Wald",
        warnings,
    };
    if fit.separated.contains(&column) {
        basis.nothing()
    } else {
        basis.plain(fit.beta[column], variance.max(0.0).sqrt())
    }
}
