//! How much wider limits of segment hazards must be because trials come in clusters that resemble
//! each other.
//!
//! Promises a factor of at least 1 for every group. Stops at the factor: `segment_profile` takes it.

use std::collections::BTreeMap;

use super::hazard::SegmentFit;
use super::likelihood::{derivatives, slope};
use crate::stats::shares::clustered::t_over_normal;
use crate::stats::special::cholesky::{inverse, times};
use crate::stats::special::input;

/// Trials of one cluster in one row of the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClusterTrials {
    /// Any number that names the cluster.
    pub cluster: u64,
    /// Place of the row among the rows of the fit.
    pub row: usize,
    /// Trials of the cluster in that row.
    pub n: f64,
    /// Trials among them with an event.
    pub events: f64,
}

/// Factors on the deviance that limits allow.
#[derive(Clone, Debug, PartialEq)]
pub struct Inflation {
    /// Variance over that of independent trials, of every group of the fit, at least 1.
    pub by_group: Vec<f64>,
    /// The same of what concerns all rows together.
    pub pooled: f64,
    /// Clusters with trials that pass each group.
    pub clusters: Vec<u64>,
}

/// What one cluster did.
#[derive(Clone, Debug)]
struct Cluster {
    /// Derivatives of its log-likelihood by the group hazards.
    score: Vec<f64>,
    passing: Vec<f64>,
    n: f64,
    /// Events less those expected, and their binomial variance.
    excess: f64,
    variance: f64,
}

impl SegmentFit {
    /// Factors from the scatter between clusters: for a group inside its bounds the cluster-robust
    /// variance of its hazard over the one of the likelihood; for the others, and for all rows
    /// together, the squared excess of events of the clusters over its binomial variance. Both are
    /// widened for being estimated, with one degree of freedom less than the effective number of
    /// clusters, and then never below 1.
    ///
    /// Source: Liang & Zeger (1986), Biometrika 73, 13-22, for the variance; Korn & Graubard (1998),
    /// Surv. Methodol. 24, 193-201, and Kish (1965), Survey Sampling, for the degrees of freedom
    /// [from memory].
    pub fn inflation(&self, trials: &[ClusterTrials], level: f64) -> Inflation {
        let size = self.groups.len();
        let clusters = self.clusters(trials);
        let effective = |of: &dyn Fn(&Cluster) -> f64| {
            let (sum, squares) = clusters
                .iter()
                .fold((0.0, 0.0), |s, cluster| (s.0 + of(cluster), s.1 + of(cluster).powi(2)));
            if squares > 0.0 { sum * sum / squares } else { 0.0 }
        };
        let widened = |factor: f64, effective: f64| {
            let factor = factor * t_over_normal(level, effective - 1.0).powi(2);
            if factor.is_finite() { factor.max(1.0) } else { 1.0 }
        };
        let many = clusters.len() as f64;
        let few = if many > 1.0 { many / (many - 1.0) } else { 1.0 };
        let (excess, variance) = clusters
            .iter()
            .fold((0.0, 0.0), |s, cluster| (s.0 + cluster.excess.powi(2), s.1 + cluster.variance));
        let scatter = if variance > 0.0 && many > 1.0 { few * excess / variance } else { 1.0 };
        let robust = self.robust(&clusters, few);
        let by_group = (0..size).map(|group| {
            let factor = robust[group].unwrap_or(scatter);
            widened(factor, effective(&|cluster| cluster.passing[group]))
        });
        let passed_by = |group: usize| {
            clusters.iter().filter(|cluster| cluster.passing[group] > 0.0).count() as u64
        };
        Inflation {
            by_group: by_group.collect(),
            pooled: widened(scatter, effective(&|cluster| cluster.n)),
            clusters: (0..size).map(passed_by).collect(),
        }
    }

    fn clusters(&self, trials: &[ClusterTrials]) -> Vec<Cluster> {
        let size = self.groups.len();
        let empty = || Cluster {
            score: vec![0.0; size],
            passing: vec![0.0; size],
            n: 0.0,
            excess: 0.0,
            variance: 0.0,
        };
        let mut clusters: BTreeMap<u64, Cluster> = BTreeMap::new();
        for trial in trials {
            let Some(pattern) = self.patterns.get(trial.row) else { continue };
            if pattern.clean + pattern.events <= 0.0 {
                continue;
            }
            let (n, hazard) = (input::amount(trial.n), self.hazards[trial.row]);
            let events = input::amount(trial.events).min(n);
            let cluster = clusters.entry(trial.cluster).or_insert_with(empty);
            let chance = -(-hazard).exp_m1();
            cluster.n += n;
            cluster.excess += events - n * chance;
            cluster.variance += n * chance * (1.0 - chance);
            let slope = slope(n - events, events, hazard);
            for (group, x) in pattern.exposure.iter().enumerate().filter(|(_, x)| **x > 0.0) {
                cluster.score[group] += slope * x;
                cluster.passing[group] += n;
            }
        }
        clusters.into_values().filter(|cluster| cluster.n > 0.0).collect()
    }

    /// Robust over model variance of every group inside its bounds.
    fn robust(&self, clusters: &[Cluster], few: f64) -> Vec<Option<f64>> {
        let size = self.groups.len();
        let mut found = vec![None; size];
        let inside: Vec<usize> = (0..size)
            .filter(|g| !self.is_zero(*g) && !self.is_certain(*g) && self.is_identified(*g))
            .collect();
        let (_, information) = derivatives(&self.patterns, &self.hazards);
        let information: Vec<Vec<f64>> =
            inside.iter().map(|i| inside.iter().map(|j| information[*i][*j]).collect()).collect();
        let Ok(model) = inverse(&information) else { return found };
        if clusters.len() < 2 {
            return found;
        }
        let mut robust = vec![0.0; inside.len()];
        for cluster in clusters {
            let score: Vec<f64> = inside.iter().map(|group| cluster.score[*group]).collect();
            for (sum, moved) in robust.iter_mut().zip(times(&model, &score)) {
                *sum += moved * moved;
            }
        }
        for (place, group) in inside.iter().enumerate() {
            found[*group] = input::finite(few * robust[place] / model[place][place]);
        }
        found
    }
}
