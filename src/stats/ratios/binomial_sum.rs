//! Exact test of a ratio of rates of 1 over strata: the exposed events are a sum of binomials.
//!
//! Promises a p value that holds where each stratum has an event or two, however small it is. Stops at
//! [`MOST_EVENTS`] events, beyond which the normal score test is as good.

use super::mantel_haenszel::mantel_haenszel;
use super::person_time::PersonTime;
use crate::stats::special::quantile::{normal_upper, upper_normal_quantile};

/// Events up to which the distribution is summed; its cost grows with their square.
pub(super) const MOST_EVENTS: f64 = 500.0;

/// Probabilities of 0, 1, 2, ... successes of independent trials with these probabilities.
///
/// Source: direct convolution; Hong (2013), Comput. Stat. Data Anal. 59, 41-51 [from memory].
pub fn successes(probabilities: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let mut points = vec![1.0];
    for p in probabilities {
        let p = p.clamp(0.0, 1.0);
        points.push(0.0);
        for k in (0..points.len()).rev() {
            let below = if k > 0 { points[k - 1] } else { 0.0 };
            points[k] = points[k] * (1.0 - p) + below * p;
        }
    }
    points
}

/// Two-sided mid-P value of a common ratio of 1: twice the smaller tail, half the observed point in
/// each, at most 1. `None` where no stratum says anything.
///
/// Source: Breslow & Day (1987), Statistical Methods in Cancer Research II, section 3.5 (given the events
/// of a stratum, those of the exposed are binomial) [from memory]; Lancaster (1961), J. Am. Stat. Assoc.
/// 56, 223-234, for mid-P. Above 500 events: the score test of [`mantel_haenszel`].
pub fn exact_p(strata: &[PersonTime]) -> Option<f64> {
    let informative: Vec<&PersonTime> = strata.iter().filter(|s| s.is_informative()).collect();
    let events: f64 = informative.iter().map(|s| s.events()).sum();
    if informative.is_empty() {
        return None;
    }
    if events > MOST_EVENTS {
        return Some(mantel_haenszel(strata, 0.95).test.p);
    }
    let trials = informative.iter().flat_map(|s| {
        let share = s.log_shares(0.0).0.exp();
        std::iter::repeat_n(share, s.events() as usize)
    });
    let points = successes(trials);
    let observed = informative.iter().map(|s| s.d1).sum::<u64>() as usize;
    let half = 0.5 * points[observed];
    let below: f64 = points[..observed].iter().sum::<f64>() + half;
    let above: f64 = points[observed + 1..].iter().sum::<f64>() + half;
    Some((2.0 * below.min(above)).min(1.0))
}

/// The same where events scatter `phi` times as much as chance: the normal deviate of the exact value over the root of
/// `phi`, so that the statistic squared is divided by it; at least 1 is taken.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 6.2 [from memory].
pub fn scattered_p(strata: &[PersonTime], phi: f64) -> Option<f64> {
    let p = exact_p(strata)?;
    if phi.is_nan() || phi <= 1.0 {
        return Some(p);
    }
    let deviate = upper_normal_quantile(0.5 * p.max(f64::MIN_POSITIVE)) / phi.sqrt();
    Some((2.0 * normal_upper(deviate)).min(1.0))
}
