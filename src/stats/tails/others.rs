//! Whether one of several groups lies above what the others let expect.
//!
//! Groups differ anyway; how much they do is taken from the others, and the group in question is asked whether it may be
//! one more of them. Promises a chance that holds that spread and what chance adds in the group itself. Stops at one
//! group: that many were asked is the caller's to reckon with.

use super::binomial::binomial_above_mid_p;
use crate::stats::rates::gamma_poisson::{Observed, PriorMean, gamma_poisson_quick};
use crate::stats::shares::clustered::student_two_sided;
use crate::stats::special::incomplete::beta_tails;

/// Fewest other groups of which a spread can be told.
const LEAST_OTHERS: usize = 3;

/// How far a group lies above what was expected, and the variance of that by chance alone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Excess {
    /// Observed less expected.
    pub value: f64,
    /// Variance of it, at least 0.
    pub variance: f64,
}

/// Chance that a new group, drawn as the others are, lies as far above as the one `at` does. `None` with fewer than
/// three others, or where nothing could vary.
///
/// Mean and spread of the others by moments, the new one by Student's t with two degrees of freedom less than there are
/// others.
///
/// Source: Higgins, Thompson & Spiegelhalter (2009), J. R. Stat. Soc. A 172, 137-159, section 2.2 (prediction in a
/// random-effects model); DerSimonian & Laird (1986), Control. Clin. Trials 7, 177-188 (spread) [sections from memory].
pub fn share_above_others(groups: &[Excess], at: usize) -> Option<f64> {
    let own = groups.get(at)?;
    let others =
        groups.iter().enumerate().filter(|(place, _)| *place != at).map(|(_, group)| group);
    let others: Vec<&Excess> = others.filter(|group| group.variance > 0.0).collect();
    if others.len() < LEAST_OTHERS || !own.value.is_finite() {
        return None;
    }
    let pooled = |spread: f64| {
        let weights = others.iter().map(|group| 1.0 / (group.variance + spread));
        let sum: f64 = weights.clone().sum();
        let mean =
            weights.zip(&others).map(|(weight, group)| weight * group.value).sum::<f64>() / sum;
        (mean, sum)
    };
    let (fixed, sum) = pooled(0.0);
    let q: f64 = others.iter().map(|group| (group.value - fixed).powi(2) / group.variance).sum();
    let squares: f64 = others.iter().map(|group| group.variance.powi(-2)).sum();
    let freedom = (others.len() - 1) as f64;
    let spread = ((q - freedom) / (sum - squares / sum)).max(0.0);
    let (mean, sum) = pooled(spread);
    let t = (own.value - mean) / (own.variance.max(0.0) + spread + 1.0 / sum).sqrt();
    let p = t_upper(t, (others.len() - 2) as f64);
    p.is_finite().then_some(p)
}

/// Upper tail of Student's t.
fn t_upper(t: f64, freedom: f64) -> f64 {
    let half = 0.5 * student_two_sided(t, freedom);
    if t > 0.0 { half } else { 1.0 - half }
}

/// Chance that a new group, drawn as the others are, has as many events as the one `at`, half of the chance of exactly
/// so many counted. `None` with fewer than three others, or where nothing is expected.
///
/// The larger of two: the negative binomial of the gamma distribution fitted to the others' ratios (how much groups
/// differ, its mean taken as known), and the binomial of the group's events given those of all (groups that do not
/// differ, their level not known).
///
/// Source: Clayton & Kaldor (1987), Biometrics 43, 671-681 (the fit); Przyborowski & Wilenski (1940), Biometrika 31,
/// 313-323 (the conditional binomial); Lancaster (1961), J. Am. Stat. Assoc. 56, 223-234 (mid-P).
pub fn rate_above_others(groups: &[Observed], at: usize) -> Option<f64> {
    let own = groups.get(at).filter(|own| own.expected > 0.0 && own.expected.is_finite())?;
    let others =
        groups.iter().enumerate().filter(|(place, _)| *place != at).map(|(_, group)| *group);
    let others: Vec<Observed> = others.filter(|group| group.expected > 0.0).collect();
    if others.len() < LEAST_OTHERS {
        return None;
    }
    let events: f64 = others.iter().map(|group| group.events as f64).sum();
    let expected: f64 = others.iter().map(|group| group.expected).sum();
    let all = own.expected + expected;
    let share = (own.expected / all, expected / all);
    let alike = binomial_above_mid_p(own.events, own.events as f64 + events, share);
    let spread = gamma_poisson_quick(&others, PriorMean::Fitted).map(|(shape, rate)| {
        let all = rate + own.expected;
        negative_binomial_upper(own.events, shape, (own.expected / all, rate / all))
    });
    let p = spread.map_or(alike, |spread| spread.max(alike));
    p.is_finite().then_some(p.clamp(0.0, 1.0))
}

/// `P(X > k) + P(X = k) / 2` of a negative binomial: events before `shape` stops; the chance of an event, and that of a stop.
fn negative_binomial_upper(k: u64, shape: f64, (event, stop): (f64, f64)) -> f64 {
    let at_least = |k: f64| if k <= 0.0 { 1.0 } else { beta_tails(k, shape, event, stop).0 };
    0.5 * (at_least(k as f64) + at_least(k as f64 + 1.0))
}
