//! Ranks of groups whose shares are known with doubt.
//!
//! Each group's share has a beta distribution; its expected rank is one plus the sum, over the
//! others, of the probability that theirs is lower. Groups of which little is known rank near the
//! middle instead of at the ends. Promises the same ranks whatever the order of the groups. Stops
//! at independent groups.

use super::beta_binomial::{BetaBinomial, Share};
use crate::stats::special::beta_quantile::beta_interval;
use crate::stats::special::incomplete::beta_tails;

/// Points of equal probability that stand for a distribution; an even number. The error of a
/// probability between two groups is below half of one over this.
const POINTS: usize = 32;

/// Where one group stands among all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// Posterior expectation of its rank, 1 for the lowest share.
    pub expected_rank: f64,
    /// Posterior probability that its share lies below the mean of all groups.
    pub below_mean: f64,
}

/// Standings under a fitted beta-binomial distribution, in the order of the groups.
///
/// `groups` are those of the fit. `None` where it has no top inside: the groups then differ by no
/// more than chance, and nothing ranks them.
///
/// Source: Laird & Louis (1989), J. Educ. Stat. 14, 29-46 (posterior expected ranks) [from memory].
pub fn expected_ranks(fit: &BetaBinomial, groups: &[Share]) -> Option<Vec<Standing>> {
    let (a, b, mean) = (fit.a?, fit.b?, fit.mean?);
    let posterior = |group: &Share| (a + group.events, b + (group.n - group.events).max(0.0));
    let points: Vec<Vec<f64>> = groups
        .iter()
        .map(|group| {
            let (a, b) = posterior(group);
            quantiles(a, b)
        })
        .collect();
    let mut pool: Vec<f64> = points.iter().flatten().copied().collect();
    pool.sort_unstable_by(f64::total_cmp);
    let standing = |(group, nodes): (&Share, &Vec<f64>)| {
        let (a, b) = posterior(group);
        let others: f64 = nodes.iter().map(|x| below(&pool, *x) - below(nodes, *x)).sum();
        Standing {
            expected_rank: 1.0 + others / (POINTS * POINTS) as f64,
            below_mean: beta_tails(a, b, mean, 1.0 - mean).0.clamp(0.0, 1.0),
        }
    };
    Some(groups.iter().zip(&points).map(standing).collect())
}

/// Quantiles in the middle of [`POINTS`] stretches of equal probability, rising.
fn quantiles(a: f64, b: f64) -> Vec<f64> {
    let level = |i: usize| 1.0 - (2 * i + 1) as f64 / POINTS as f64;
    let pairs: Vec<(f64, f64)> = (0..POINTS / 2).map(|i| beta_interval(a, b, level(i))).collect();
    let lower = pairs.iter().map(|pair| pair.0);
    lower.chain(pairs.iter().rev().map(|pair| pair.1)).collect()
}

/// How many of the sorted points lie below, those that tie by half.
fn below(sorted: &[f64], x: f64) -> f64 {
    let under = sorted.partition_point(|point| *point < x);
    let up_to = sorted.partition_point(|point| *point <= x);
    (under + up_to) as f64 / 2.0
}
