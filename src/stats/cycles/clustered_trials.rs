//! Trials until the first success, of units that come in clusters: a common chance, and chances that differ.
//!
//! Promises the values of `geometric` and `beta_geometric`, with limits as wide as clusters scatter. Stops at clusters: which
//! units are of one is the caller's to know.

use super::beta_geometric::{BetaGeometric, gradient, scattered};
use super::geometric::{Geometric, geometric, trials};
use crate::stats::estimate::Estimate;
use crate::stats::shares::clustered::{ClusterSums, effective_share, t_over_normal};
use crate::stats::special::input;

/// Units of one cluster: those that succeeded at trial 1, 2, ..., and those that left after it without.
pub type Cluster = (Vec<u64>, Vec<u64>);

/// As [`geometric`] for all clusters together, the chance with the exact interval of a clustered share: successes over
/// trials, with the trials of a cluster for its units. It holds for the mean over trials where the chance is not common, too.
///
/// Source: as `effective_share`.
pub fn geometric_clustered(clusters: &[Cluster], level: f64) -> Geometric {
    let (events, censored) = together(clusters);
    let found = geometric(&events, &censored, level);
    Geometric { chance: widened(clusters, usize::MAX, &found, level), ..found }
}

/// The chance of a fit over the first so many trials, with the interval of its clusters.
fn widened(clusters: &[Cluster], first: usize, found: &Geometric, level: f64) -> Estimate {
    let mut sums = ClusterSums::default();
    for (events, censored) in clusters {
        let trials = trials(events, censored);
        let of_first = trials.iter().take(first);
        let (made, successes) = of_first.fold((0_u64, 0_u64), |(made, successes), trial| {
            (made.saturating_add(trial.at_risk), successes.saturating_add(trial.events))
        });
        sums.add(made, successes);
    }
    let mut chance = effective_share(&sums, level);
    chance.value = found.chance.value;
    for warning in &found.chance.warnings {
        if !chance.warnings.contains(warning) {
            chance.warnings.push(*warning);
        }
    }
    chance
}

/// As [`beta_geometric`](super::beta_geometric::beta_geometric) for all clusters together. The fall of the likelihood that
/// its limits allow is multiplied by the variance that clusters show over that of independent units, at least 1, wider for
/// being estimated with one degree of freedom less than the effective number of clusters. Where it has no top inside, the
/// mean has the interval of [`geometric_clustered`].
///
/// Source: Liang & Zeger (1986), Biometrika 73, 13-22, for the variance; Kish (1965), Survey Sampling, for the effective
/// number [both from memory].
pub fn beta_geometric_clustered(clusters: &[Cluster], level: f64) -> BetaGeometric {
    let (events, censored) = together(clusters);
    let mut fit = scattered(&events, &censored, level, |fit, at| scatter(clusters, fit, at, level));
    if fit.log_covariance.is_none() && fit.mean.n > 0.0 {
        // All or nothing rests on the first trial alone.
        let first = if fit.hazard(2) < fit.hazard(1) { 1 } else { usize::MAX };
        let found = Geometric { chance: fit.mean.clone(), ..geometric(&events, &censored, level) };
        let share = widened(clusters, first, &found, level);
        (fit.mean.low, fit.mean.high) = (share.low, share.high);
    }
    fit
}

/// Variance over that of independent units: of the log odds of the mean, `ln a`, `ln b` and `ln (a + b)`.
fn scatter(
    clusters: &[Cluster],
    fit: &BetaGeometric,
    (logit, log_spread): (f64, f64),
    level: f64,
) -> [f64; 4] {
    let Some(covariance) = fit.log_covariance else { return [1.0; 4] };
    let mean = 1.0 / (1.0 + (-logit).exp());
    // Scores by (ln a, ln b), whose covariance is known: logit mean is their difference, ln spread less ln (a + b).
    let (mut scores, mut made): (Vec<[f64; 2]>, Vec<f64>) = (Vec::new(), Vec::new());
    for (events, censored) in clusters {
        let table = trials(events, censored);
        let own = gradient(&table, logit, log_spread);
        scores.push([own[0] - mean * own[1], -own[0] - (1.0 - mean) * own[1]]);
        made.push(table.iter().map(|trial| trial.at_risk as f64).sum());
    }
    let (sum, squares) = made.iter().fold((0.0, 0.0), |s, n| (s.0 + n, s.1 + n * n));
    let many = made.iter().filter(|n| **n > 0.0).count() as f64;
    if many < 2.0 {
        return [1.0; 4];
    }
    let wider = t_over_normal(level, sum * sum / squares - 1.0).powi(2) * many / (many - 1.0);
    [[1.0, -1.0], [1.0, 0.0], [0.0, 1.0], [mean, 1.0 - mean]].map(|way| {
        // How far a cluster moves the parameter, and its variance by the likelihood.
        let moves = [0, 1].map(|at| way[0] * covariance[0][at] + way[1] * covariance[1][at]);
        let likelihood = moves[0] * way[0] + moves[1] * way[1];
        let robust: f64 =
            scores.iter().map(|score| (moves[0] * score[0] + moves[1] * score[1]).powi(2)).sum();
        input::finite(wider * robust / likelihood).map_or(1.0, |times| times.max(1.0))
    })
}

/// All clusters as one.
fn together(clusters: &[Cluster]) -> Cluster {
    let mut all = Cluster::default();
    for (events, censored) in clusters {
        for (sum, own) in [(&mut all.0, events), (&mut all.1, censored)] {
            sum.resize(sum.len().max(own.len()), 0);
            sum.iter_mut().zip(own).for_each(|(sum, own)| *sum = sum.saturating_add(*own));
        }
    }
    all
}
