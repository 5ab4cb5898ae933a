//! One series of counts over times that something broke at a known time: its level and its slope since, against what it
//! was on the way to. The weakest of designs: whatever else began then is in it.

use crate::stats::rates::poisson_regression::{PoissonData, PoissonFit, poisson_regression};
use crate::stats::shares::clustered::t_over_normal;
use crate::stats::special::cholesky::{dot, times};
use crate::stats::special::quantile::normal_quantile;
use crate::stats::special::regression::RegressionError;

/// Times before the start from which on a yearly wave can be told from a slope.
const TWO_YEARS: usize = 24;
/// Least times on either side of the start.
const LEAST: usize = 4;

/// A broken series.
#[derive(Clone, Debug, PartialEq)]
pub struct Interrupted {
    /// Coefficients: intercept, slope a time, level and slope a time since the start, then the waves.
    pub coefficients: Vec<f64>,
    /// Their covariance by the dispersion.
    pub model: Vec<Vec<f64>>,
    /// Their covariance with the correlation of neighbouring times.
    pub correlated: Vec<Vec<f64>>,
    /// Pearson's chi-square over its degrees of freedom.
    pub dispersion: f64,
    /// Degrees of freedom.
    pub df: usize,
    /// Events since the start.
    pub observed: f64,
    /// What the fit expects of the same times without the break.
    pub without: f64,
    /// Log of the events that the fit has over those without the break, and its standard error.
    pub log_ratio: (f64, f64),
}

/// Columns of a series with a break at `start`; times are numbered from 1, and the slope since it is 0 at it. With
/// `waves` of a year of twelve times.
pub fn columns(count: usize, start: usize, waves: usize) -> Vec<Vec<f64>> {
    let since = |time: usize| (time >= start).then(|| (time - start) as f64);
    let column = |of: &dyn Fn(usize) -> f64| (0..count).map(of).collect::<Vec<f64>>();
    let mut all = vec![
        column(&|_| 1.0),
        column(&|time| (time + 1) as f64),
        column(&|time| f64::from(since(time).is_some())),
        column(&|time| since(time).unwrap_or(0.0)),
    ];
    for wave in 1..=waves {
        let angle = move |time: usize| std::f64::consts::TAU * (wave * (time + 1)) as f64 / 12.0;
        all.push(column(&|time| angle(time).sin()));
        all.push(column(&|time| angle(time).cos()));
    }
    all
}

/// Fits a series of `events` of which `expected` were to be, broken at `start`. None where either side has fewer than four
/// times. `lag` is how many times apart values may still go together.
///
/// # Errors
/// [`RegressionError`] where the rows do not make a regression.
///
/// Source: Bernal, Cummins & Gasparrini (2017), Int. J. Epidemiol. 46, 348-355 (the design); Newey & West (1987),
/// Econometrica 55, 703-708 (correlation, Bartlett weights, no correction for small samples).
pub fn interrupted(
    events: &[f64],
    expected: &[f64],
    start: usize,
    (lag, waves): (usize, Option<usize>),
) -> Result<Option<Interrupted>, RegressionError> {
    let count = events.len();
    if start < LEAST || count < start + LEAST {
        return Ok(None);
    }
    let waves = waves.unwrap_or(usize::from(start >= TWO_YEARS));
    let columns = columns(count, start, waves);
    let offset: Vec<f64> = expected.iter().map(|expected| expected.max(1e-12).ln()).collect();
    let data = PoissonData { events, columns: &columns, offset: &offset, clusters: None };
    let fit = poisson_regression(&data)?;
    let dispersion = fit.dispersion.unwrap_or(1.0);
    let model = scaled(&fit.covariance, dispersion);
    let correlated = newey_west(&fit, events, &columns, lag);
    let since = |of: &dyn Fn(usize) -> f64| (start..count).map(of).sum::<f64>();
    let broken = |time: usize| {
        fit.coefficients[2] * columns[2][time] + fit.coefficients[3] * columns[3][time]
    };
    let without = since(&|time| fit.fitted[time] * (-broken(time)).exp());
    let with = since(&|time| fit.fitted[time]);
    // Derivatives of the log of both sums.
    let gradient: Vec<f64> = columns
        .iter()
        .enumerate()
        .map(|(at, column)| {
            let ours = since(&|time| fit.fitted[time] * column[time]) / with;
            let theirs = match at {
                2 | 3 => 0.0,
                _ => {
                    since(&|time| fit.fitted[time] * (-broken(time)).exp() * column[time]) / without
                }
            };
            ours - theirs
        })
        .collect();
    let variance = |spread: &[Vec<f64>]| dot(&gradient, &times(spread, &gradient));
    let se = variance(&model).max(variance(&correlated)).max(0.0).sqrt();
    Ok(Some(Interrupted {
        dispersion,
        df: fit.df,
        observed: since(&|time| events[time]),
        without,
        log_ratio: ((with / without).ln(), se),
        coefficients: fit.coefficients,
        model,
        correlated,
    }))
}

impl Interrupted {
    /// Ratio of events to those without the break, with its interval by Student's t.
    pub fn ratio(&self, level: f64) -> [f64; 3] {
        let (log, se) = self.log_ratio;
        let reach = normal_quantile(level) * t_over_normal(level, self.df.max(1) as f64);
        [log - reach * se, log, log + reach * se].map(f64::exp)
    }
}

fn scaled(matrix: &[Vec<f64>], by: f64) -> Vec<Vec<f64>> {
    matrix.iter().map(|row| row.iter().map(|cell| cell * by).collect()).collect()
}

/// Covariance of the coefficients with scores up to `lag` times apart going together.
fn newey_west(fit: &PoissonFit, events: &[f64], columns: &[Vec<f64>], lag: usize) -> Vec<Vec<f64>> {
    let score = |time: usize| {
        let residual = events[time] - fit.fitted[time];
        let own: Vec<f64> = columns.iter().map(|column| column[time] * residual).collect();
        times(&fit.covariance, &own)
    };
    let scores: Vec<Vec<f64>> = (0..events.len()).map(score).collect();
    let order = columns.len();
    let mut sum = vec![vec![0.0; order]; order];
    for apart in 0..=lag.min(events.len().saturating_sub(1)) {
        let weight = 1.0 - apart as f64 / (lag as f64 + 1.0);
        for time in apart..events.len() {
            let (now, before) = (&scores[time], &scores[time - apart]);
            for row in 0..order {
                for column in 0..order {
                    let both = if apart == 0 { 0.5 } else { 1.0 };
                    sum[row][column] +=
                        weight * both * (now[row] * before[column] + before[row] * now[column]);
                }
            }
        }
    }
    sum
}
