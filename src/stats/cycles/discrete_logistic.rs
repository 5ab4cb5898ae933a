//! Logistic regression on grouped or single trials, with a variance that respects clusters.
//!
//! With one row for every trial that a unit made, this is the discrete-time hazard model: the odds
//! of success at a trial given none before. Promises to name columns that others imply, and to
//! report separation instead of huge coefficients. Stops at dense columns of a few hundred
//! parameters, and at fixed effects.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::cholesky::{dot, times};
use crate::stats::special::regression::{
    Fit, RegressionError, Rows, check, check_length, climb, sandwich, scores_by_cluster,
    total_deviance,
};
use crate::stats::wald::Basis;
use rustc_hash::FxHashMap;

/// Clusters below which the sandwich is not to be trusted.
const FEW_CLUSTERS: usize = 10;

/// Largest share of the model's covariance that is added for few clusters.
///
/// Source: Morel, Bokossa & Neerchal (2003), the default of its authors' software [from memory].
const MOST_SHARE: f64 = 0.5;

/// Rows to be fitted. All slices have one entry a row.
#[derive(Clone, Copy, Debug)]
pub struct Grouped<'a> {
    /// Covariates, column by column, a number a row; a column of ones is the intercept.
    pub columns: &'a [Vec<f64>],
    /// Trials of each row, at least 0 (weights are allowed).
    pub trials: &'a [f64],
    /// Successes among the trials of each row.
    pub events: &'a [f64],
    /// Number of the cluster of each row; rows of one cluster may be dependent.
    pub clusters: &'a [u64],
}

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
    /// `covariance` with the addition for few clusters that the intervals use.
    pub adjusted: Vec<Vec<f64>>,
    /// Covariance of `beta` if all trials were independent.
    pub model_covariance: Vec<Vec<f64>>,
    /// By cluster, rising: how far `beta` moves, to first order, where the cluster is there once more.
    pub shifts: Vec<(u64, Vec<f64>)>,
    /// Twice the log-likelihood ratio against one parameter a row.
    pub deviance: f64,
    /// Distinct clusters with trials.
    pub clusters: usize,
    /// Whether the iteration arrived.
    pub converged: bool,
    /// Columns whose coefficient runs to infinity because they tell success from failure.
    pub separated: Vec<usize>,
}

impl Rows for Grouped<'_> {
    fn columns(&self) -> &[Vec<f64>] {
        self.columns
    }

    fn rows(&self) -> usize {
        self.trials.len()
    }

    fn tells(&self, row: usize) -> bool {
        self.trials[row] > 0.0
    }

    fn weight_and_residual(&self, row: usize, eta: f64) -> (f64, f64) {
        let (n, y) = (self.trials[row], self.events[row]);
        let (p, q) = (1.0 / (1.0 + (-eta).exp()), 1.0 / (1.0 + eta.exp()));
        // `y - n p`, written so that rare failures keep their digits as rare successes do.
        (n * p * q, if p < 0.5 { y - n * p } else { n * q - (n - y) })
    }

    fn half_deviance(&self, row: usize, eta: f64) -> f64 {
        let (n, y) = (self.trials[row], self.events[row]);
        // x ln(x / (n chance)), with -ln of the chance from its logit so that it never underflows.
        let part = |x: f64, logit: f64| {
            let minus_log =
                if logit > 0.0 { (-logit).exp().ln_1p() } else { logit.exp().ln_1p() - logit };
            if x > 0.0 { x * ((x / n).ln() + minus_log) } else { 0.0 }
        };
        part(y, eta) + part(n - y, -eta)
    }
}

/// Refuses what cannot be fitted.
fn check_rows(rows: &Grouped) -> Result<(), RegressionError> {
    let number = rows.trials.len();
    if rows.columns.is_empty() || !rows.trials.iter().any(|n| *n > 0.0) {
        return Err(RegressionError::Empty { rows: number, columns: rows.columns.len() });
    }
    check_length("clusters", rows.clusters.len(), number)?;
    // No counts are larger, and the squares of larger covariates overflow.
    for column in rows.columns {
        check("a column", column, number, (-1e15, 1e15))?;
    }
    check("trials", rows.trials, number, (0.0, 1e15))?;
    check("events", rows.events, number, (0.0, 1e15))?;
    match rows.events.iter().zip(rows.trials).position(|(events, trials)| events > trials) {
        Some(row) => Err(RegressionError::OutOfRange { what: "events", row }),
        None => Ok(()),
    }
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
/// [`RegressionError`] where lengths differ, numbers are out of range or columns are dependent.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 4.4 (fit);
/// Liang & Zeger (1986), Biometrika 73, 13-22 (sandwich); Morel, Bokossa & Neerchal (2003), Biom. J.
/// 45, 395-409 (few clusters); Albert & Anderson (1984), Biometrika 71, 1-10 (separation) [sections
/// from memory].
pub fn discrete_logistic(rows: &Grouped, level: f64) -> Result<Logistic, RegressionError> {
    check_rows(rows)?;
    let fit = match Alike::of(rows) {
        Some(alike) => {
            let fit = climb(&alike.rows(), vec![0.0; rows.columns.len()])?;
            Fit { deviance: total_deviance(rows, &fit.beta), ..fit }
        }
        None => climb(rows, vec![0.0; rows.columns.len()])?,
    };
    let model_covariance = fit.spread;
    let (names, scores): (Vec<u64>, Vec<Vec<f64>>) =
        scores_by_cluster(rows, rows.clusters, &fit.beta).into_iter().unzip();
    let clusters = scores.len();
    let shifts = names.into_iter().zip(scores.iter().map(|score| times(&model_covariance, score)));
    let shifts = shifts.collect();
    let covariance =
        if clusters < 2 { model_covariance.clone() } else { sandwich(&model_covariance, &scores) };
    let mut fitted = Logistic {
        coefficients: Vec::new(),
        beta: fit.beta,
        adjusted: adjusted(rows, &model_covariance, &covariance, &scores),
        covariance,
        model_covariance,
        shifts,
        deviance: fit.deviance,
        clusters,
        converged: fit.converged,
        separated: fit.separated,
    };
    fitted.coefficients =
        (0..fitted.beta.len()).map(|column| coefficient(&fitted, rows, column, level)).collect();
    Ok(fitted)
}

/// Rows with the same covariates as one: the likelihood asks for no more.
struct Alike {
    columns: Vec<Vec<f64>>,
    trials: Vec<f64>,
    events: Vec<f64>,
}

impl Alike {
    /// None where most rows are like no other.
    fn of(rows: &Grouped) -> Option<Alike> {
        let mut places: FxHashMap<Vec<u64>, usize> = FxHashMap::default();
        let mut alike = Alike {
            columns: vec![Vec::new(); rows.columns.len()],
            trials: Vec::new(),
            events: Vec::new(),
        };
        let mut key = Vec::with_capacity(rows.columns.len());
        for row in 0..rows.trials.len() {
            key.clear();
            key.extend(rows.columns.iter().map(|column| column[row].to_bits()));
            let at = match places.get(&key) {
                Some(at) => *at,
                None => {
                    let at = places.len();
                    if 2 * at > rows.trials.len() {
                        return None;
                    }
                    places.insert(key.clone(), at);
                    let own = alike.columns.iter_mut().zip(rows.columns);
                    own.for_each(|(own, column)| own.push(column[row]));
                    alike.trials.push(0.0);
                    alike.events.push(0.0);
                    at
                }
            };
            alike.trials[at] += rows.trials[row];
            alike.events[at] += rows.events[row];
        }
        Some(alike)
    }

    fn rows(&self) -> Grouped<'_> {
        let Alike { columns, trials, events } = self;
        Grouped { columns, trials, events, clusters: &[] }
    }
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
    let line = |(robust, model): (&Vec<f64>, &Vec<f64>)| -> Vec<f64> {
        robust.iter().zip(model).map(|(r, m)| spent * r + share * inflation * m).collect()
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
