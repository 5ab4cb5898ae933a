//! Whether events of clusters that reach over several strata scatter more than chance.
//!
//! Promises a ratio whose mean is 1 for Poisson counts however few they are. Stops at one ratio for
//! all; `dispersion` has Pearson's, which weighs a cluster that expects a tenth of an event like one
//! that expects ten.

use crate::stats::shares::clustered::t_over_normal;
use crate::stats::special::input;
use crate::stats::special::quantile::chi_square_upper;

/// Events and exposure of one cluster in one stratum. Several of the same two are one.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Part {
    /// Number of the cluster; the numbers themselves mean nothing.
    pub cluster: u64,
    /// Number of the stratum, likewise.
    pub stratum: u64,
    /// Events of the cluster in the stratum.
    pub events: u64,
    /// Exposure, at least 0; a part without is left out, its events too.
    pub exposure: f64,
}

/// Scatter of the clusters about the rates of the strata.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Variance between clusters over that of Poisson counts. `None` where nothing could vary.
    pub phi: Option<f64>,
    /// Clusters with exposure.
    pub clusters: u64,
    /// Events in strata that tell.
    pub events: u64,
    /// Degrees of freedom of the chi-square that `phi` times them is like.
    pub df: f64,
    /// Upper tail of that chi-square: small where the scatter is more than chance.
    pub p: f64,
    /// Clusters of equal weight that would say as much of a variance.
    effective: f64,
}

impl Scatter {
    /// The over-dispersion that intervals at `level` multiply variances by: widened for being
    /// estimated itself, and then never below 1. `None` where `phi` is.
    ///
    /// Source: Korn & Graubard (1998), Surv. Methodol. 24, 193-201, as
    /// [`crate::stats::shares::clustered::Resemblance::divisor`].
    pub fn widened(&self, level: f64) -> Option<f64> {
        let wider = t_over_normal(level, self.effective - 1.0).powi(2);
        self.phi.map(|phi| input::scatter(phi * wider))
    }
}

/// What one cluster came to over the strata.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    gap: f64,
    variance: f64,
}

/// `sum (O - E)^2 / sum V` over clusters: `E` and `V` are mean and variance of a cluster's events given
/// the events of every stratum, which fall to clusters in proportion to exposure.
///
/// That is the variance of the total over what it would be without clustering, whatever is shared by
/// the strata of a cluster. The p value is of a chi-square with matching mean and variance.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 6.2, for the
/// over-dispersed Poisson; the multinomial moments are textbook matter; Satterthwaite (1946), Biometrics
/// Bull. 2, 110-114, for the degrees of freedom [sections from memory].
pub fn scatter(parts: &[Part]) -> Scatter {
    let mut parts: Vec<Part> = parts
        .iter()
        .map(|part| Part { exposure: input::amount(part.exposure), ..*part })
        .filter(|part| part.exposure > 0.0)
        .collect();
    // Floating-point sums depend on their order: numbers decide it, and equal ones are put together.
    parts.sort_by(|a, b| {
        (a.stratum, a.cluster, a.events)
            .cmp(&(b.stratum, b.cluster, b.events))
            .then(a.exposure.total_cmp(&b.exposure))
    });
    let clusters = &numbers(&parts);
    // Those of a cluster are added up in the order of the strata.
    let mut sums = vec![Sum::default(); clusters.len()];
    let mut total = 0_u64;
    for stratum in parts.chunk_by(|a, b| a.stratum == b.stratum) {
        let events = stratum.iter().map(|part| part.events as f64).sum::<f64>();
        let exposure: f64 = stratum.iter().map(|part| part.exposure).sum();
        total = stratum.iter().fold(total, |total, part| total.saturating_add(part.events));
        for cluster in stratum.chunk_by(|a, b| a.cluster == b.cluster) {
            let seen: f64 = cluster.iter().map(|part| part.events as f64).sum();
            let share = cluster.iter().map(|part| part.exposure).sum::<f64>() / exposure;
            let share = share.min(1.0);
            let sum = &mut sums[place(clusters, cluster[0].cluster)];
            sum.gap += seen - events * share;
            sum.variance += events * share * (1.0 - share);
        }
    }
    let sum = |of: fn(&Sum) -> f64| sums.iter().map(of).sum::<f64>();
    let (squares, variance) = (sum(|c| c.gap * c.gap), sum(|c| c.variance));
    // The square of a Poisson-like gap has the variance 2 V^2 + V.
    let doubt = sum(|c| 2.0 * c.variance * c.variance + c.variance);
    let phi = input::finite(squares / variance);
    let df = input::finite(2.0 * (variance / doubt) * variance).unwrap_or(0.0);
    let effective = variance / sum(|c| c.variance * c.variance) * variance;
    Scatter {
        phi,
        clusters: clusters.len() as u64,
        events: total,
        df,
        p: phi.map_or(1.0, |phi| chi_square_upper(phi * df, df)),
        effective: input::finite(effective).unwrap_or(1.0),
    }
}

/// Numbers of all clusters, rising.
fn numbers(parts: &[Part]) -> Vec<u64> {
    let mut numbers: Vec<u64> = parts.iter().map(|part| part.cluster).collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

/// Where a number stands among those of all clusters, which hold it. Often they have no gaps.
fn place(numbers: &[u64], number: u64) -> usize {
    let straight = usize::try_from(number.saturating_sub(numbers[0])).unwrap_or(usize::MAX);
    if numbers.get(straight) == Some(&number) {
        return straight;
    }
    numbers.partition_point(|own| *own < number)
}
