//! Replicates of a log ratio of rates that share their resampled clusters with other statistics.
//!
//! The estimating function of the data is tilted by what the resampled clusters add to it, and solved
//! again: strata keep their person-time. Resampling the strata themselves would make them sparser than
//! they are, and so shift the ratios of fleets whose strata hold an event or two. Promises a finite
//! answer. Stops at one ratio.

use super::person_time::PersonTime;

/// Log ratios beyond this have no meaning here, as in `random_effects`.
const FURTHEST: f64 = 6.0;
const MOST_STEPS: usize = 60;
/// A Newton step this small ends the search.
const TOLERANCE: f64 = 1e-9;

/// A normal prior of a log ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NormalPrior {
    /// Mean of the log ratio.
    pub mean: f64,
    /// Standard deviation of the log ratio, above 0.
    pub deviation: f64,
}

/// The log ratio at which the score of the strata, the pull of the prior and `tilt` balance, within
/// [-6, 6]. `tilt` is the sum over clusters of weight less one, times the cluster's score
/// (`stratified_poisson::cluster_scores`).
///
/// Without prior and tilt it is the conditional maximum-likelihood estimate. With a prior whose mean is
/// drawn from it anew in every replicate, the replicates hold both the scatter of the counts and what the
/// prior leaves open; exact for a normal likelihood.
///
/// Source: estimating-function bootstrap Hu & Kalbfleisch (2000), Can. J. Stat. 28, 449-481; drawn prior
/// mean: randomized maximum likelihood, Oliver, He & Reynolds (1996), ECMOR V [both from memory].
pub fn tilted_log(strata: &[PersonTime], tilt: f64, start: f64, prior: Option<NormalPrior>) -> f64 {
    let precision = prior.map_or(0.0, |prior| prior.deviation.max(1e-6).powi(-2));
    let mean = prior.map_or(0.0, |prior| prior.mean.clamp(-FURTHEST, FURTHEST));
    let mut at = start.clamp(-FURTHEST, FURTHEST);
    for _ in 0..MOST_STEPS {
        let ratio = at.exp();
        let (mut slope, mut bend) = (tilt + (mean - at) * precision, precision);
        for stratum in strata.iter().filter(|stratum| stratum.is_informative()) {
            let share = ratio * stratum.t1 / (ratio * stratum.t1 + stratum.t0);
            let expected = stratum.events() * share;
            slope += stratum.d1 as f64 - expected;
            bend += expected * (1.0 - share);
        }
        if bend <= 0.0 || !slope.is_finite() {
            break;
        }
        // A step of one in the log keeps the search where the curve is like its tangent.
        let step = (slope / bend).clamp(-1.0, 1.0);
        let before = at;
        at = (at + step).clamp(-FURTHEST, FURTHEST);
        if (at - before).abs() < TOLERANCE {
            break;
        }
    }
    at
}
