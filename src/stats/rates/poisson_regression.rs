//! Poisson regression with a log link.
//!
//! Promises to say where it did not converge and where a coefficient runs off to infinity. Stops at dense
//! designs of a few dozen columns; many strata with one exposure are in `stratified_poisson`.

use crate::stats::estimate::Warning;
use crate::stats::shares::clustered::ENOUGH_CLUSTERS;
use crate::stats::special::cholesky::{dot, inverse, times};
use crate::stats::special::incomplete::half_deviance;
use crate::stats::special::regression::{
    RegressionError, Rows, check, check_length, climb, cluster_scores, information_and_score,
    predictor, sandwich,
};

/// Log of the events of a row that is told apart from none, and from numbers that overflow.
const FARTHEST: f64 = 200.0;

/// Rows of a regression.
#[derive(Clone, Copy, Debug)]
pub struct PoissonData<'a> {
    /// Events of each row, at least 0.
    pub events: &'a [f64],
    /// Columns of the design, a number a row, an intercept among them if there is to be one.
    pub columns: &'a [Vec<f64>],
    /// Log of the exposure of each row.
    pub offset: &'a [f64],
    /// Number of the cluster of each row, for the robust covariance.
    pub clusters: Option<&'a [u64]>,
}

/// A fitted regression.
#[derive(Clone, Debug, PartialEq)]
pub struct PoissonFit {
    /// Coefficients, logs of ratios of rates, in the order of the columns.
    pub coefficients: Vec<f64>,
    /// Their covariance if the counts are Poisson; times `dispersion` for quasi-Poisson.
    pub covariance: Vec<Vec<f64>>,
    /// Their cluster-robust covariance, with the factor `g / (g - 1)` for `g` clusters. `None` without
    /// clusters or with one.
    pub robust: Option<Vec<Vec<f64>>>,
    /// Distinct clusters; 0 where none were given.
    pub clusters: usize,
    /// Expected events of each row.
    pub fitted: Vec<f64>,
    /// Twice the log-likelihood ratio against one parameter a row.
    pub deviance: f64,
    /// Pearson's chi-square: squared gaps between events and expected events, over the latter.
    pub pearson: f64,
    /// Rows less columns.
    pub df: usize,
    /// `pearson / df`; `None` without degrees of freedom.
    pub dispersion: Option<f64>,
    /// `NotConverged`; `Boundary` where a coefficient has no finite estimate; `FewClusters`.
    pub warnings: Vec<Warning>,
}

impl Rows for PoissonData<'_> {
    fn columns(&self) -> &[Vec<f64>] {
        self.columns
    }

    fn rows(&self) -> usize {
        self.events.len()
    }

    fn tells(&self, _row: usize) -> bool {
        true
    }

    fn offset(&self, row: usize) -> f64 {
        self.offset[row]
    }

    fn weight_and_residual(&self, row: usize, eta: f64) -> (f64, f64) {
        let mean = mean(eta);
        (mean, self.events[row] - mean)
    }

    fn half_deviance(&self, row: usize, eta: f64) -> f64 {
        half_deviance(self.events[row], mean(eta))
    }
}

fn mean(eta: f64) -> f64 {
    eta.clamp(-FARTHEST, FARTHEST).exp()
}

/// Refuses rows that do not make a regression.
fn check_rows(data: &PoissonData) -> Result<(), RegressionError> {
    let rows = data.events.len();
    check_length("clusters", data.clusters.map_or(rows, <[u64]>::len), rows)?;
    // Wider numbers than these cannot come from counts, and their exponentials overflow.
    check("events", data.events, rows, (0.0, 1e15))?;
    check("offset", data.offset, rows, (-100.0, 100.0))?;
    for column in data.columns {
        check("a column", column, rows, (-1e9, 1e9))?;
    }
    if data.columns.is_empty() || data.events.iter().sum::<f64>() <= 0.0 {
        return Err(RegressionError::Empty { rows, columns: data.columns.len() });
    }
    Ok(())
}

/// Maximum-likelihood Poisson regression.
///
/// # Errors
/// [`RegressionError`], where the rows do not make a regression.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., sections 2.5 and 6.2; robust
/// covariance Liang & Zeger (1986), Biometrika 73, 13-22.
pub fn poisson_regression(data: &PoissonData) -> Result<PoissonFit, RegressionError> {
    check_rows(data)?;
    let fit = climb(data, start(data)?)?;
    let mut warnings = Vec::new();
    if !fit.separated.is_empty() {
        warnings.push(Warning::Boundary);
    } else if !fit.converged {
        warnings.push(Warning::NotConverged);
    }
    let scores = data.clusters.map(|clusters| cluster_scores(data, clusters, &fit.beta));
    let clusters = scores.as_ref().map_or(0, Vec::len);
    if scores.is_some() && clusters < ENOUGH_CLUSTERS as usize {
        warnings.push(Warning::FewClusters);
    }
    let rows = data.events.len();
    let fitted: Vec<f64> = (0..rows).map(|row| mean(predictor(data, &fit.beta, row))).collect();
    let pearson = data.events.iter().zip(&fitted).map(|(y, mu)| (y - mu).powi(2) / mu).sum();
    let df = rows.saturating_sub(fit.beta.len());
    Ok(PoissonFit {
        robust: scores.filter(|_| clusters > 1).map(|scores| sandwich(&fit.spread, &scores)),
        deviance: fit.deviance,
        dispersion: (df > 0).then(|| pearson / df as f64).filter(|d: &f64| d.is_finite()),
        coefficients: fit.beta,
        covariance: fit.spread,
        clusters,
        fitted,
        pearson,
        df,
        warnings,
    })
}

/// Where the climb begins: weighted least squares on the logs of the counts, a tenth of an event added to
/// each so that there are logs. From coefficients of 0 the first step would overshoot beyond all numbers.
fn start(data: &PoissonData) -> Result<Vec<f64>, RegressionError> {
    let eta = |row: usize| (data.events[row] + 0.1).ln();
    let (matrix, score) = information_and_score(data, eta);
    let weighted: Vec<f64> = (0..data.events.len())
        .map(|row| data.weight_and_residual(row, eta(row)).0 * (eta(row) - data.offset[row]))
        .collect();
    let target: Vec<f64> =
        score.iter().zip(data.columns).map(|(s, column)| s + dot(column, &weighted)).collect();
    let spread = inverse(&matrix).map_err(|column| RegressionError::Dependent { column })?;
    Ok(times(&spread, &target))
}
