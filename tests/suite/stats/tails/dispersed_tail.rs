//! The tail of clustered counts: against sums of beta-binomial clusters counted out, and its edges.

use motetrail::stats::dispersed_tail::dispersed_tail;
use motetrail::stats::hypergeometric::{DrawCell, draw_tail, normal_tail};
use proptest::prelude::*;

use crate::stats::cases::near;

/// Points of a beta-binomial: `n` trials, parameters `a` and `b`, by the ratio of neighbours.
fn beta_binomial(n: u32, a: f64, b: f64) -> Vec<f64> {
    let mut points = vec![1.0];
    for k in 0..n {
        let (k, rest) = (f64::from(k), f64::from(n - k));
        let ratio = rest * (a + k) / ((k + 1.0) * (b + rest - 1.0));
        points.push(points[points.len() - 1] * ratio);
    }
    let whole: f64 = points.iter().sum();
    points.into_iter().map(|p| p / whole).collect()
}

/// Tails of the sum of `clusters` clusters of `size`, by convolution: at least k, for every k.
fn counted_out(clusters: u32, size: u32, p: f64, correlation: f64) -> Vec<f64> {
    let total = 1.0 / correlation - 1.0;
    let one = beta_binomial(size, p * total, (1.0 - p) * total);
    let mut sum = vec![1.0];
    for _ in 0..clusters {
        let mut next = vec![0.0; sum.len() + one.len() - 1];
        for (i, x) in sum.iter().enumerate() {
            for (j, y) in one.iter().enumerate() {
                next[i + j] += x * y;
            }
        }
        sum = next;
    }
    (0..sum.len()).map(|k| sum[k..].iter().sum()).collect()
}

/// Tails from 1e-2 to 1e-5 err to the safe side: never below those counted out, at most four times as
/// large where results of a cluster are correlated by 0.1, ten times by 0.3. The normal tail is far too
/// small there.
#[test]
fn tails_of_clusters_are_those_counted_out_within_a_factor() {
    let mut worst_normal = 1.0_f64;
    for (clusters, size, p, correlation) in
        [(6, 5, 0.3, 0.1), (12, 5, 0.05, 0.1), (6, 5, 0.15, 0.3), (40, 5, 0.15, 0.1)]
    {
        let n = f64::from(clusters * size);
        let phi = 1.0 + f64::from(size - 1) * correlation;
        let (mean, variance) = (n * p, n * p * (1.0 - p));
        let third = variance * (1.0 - 2.0 * p);
        let mut compared = 0;
        for (k, want) in (0_u64..).zip(counted_out(clusters, size, p, correlation)) {
            if !(1e-5..1e-2).contains(&want) {
                continue;
            }
            let got = dispersed_tail(k, mean, variance, third, phi);
            let most = if correlation > 0.2 { 10.0 } else { 4.0 };
            assert!(got > want * 0.99 && got < want * most, "{k} of {n}: {got} {want}");
            worst_normal = worst_normal.min(normal_tail(k, mean, variance, phi) / want);
            compared += 1;
        }
        assert!(compared >= 3);
    }
    assert!(worst_normal < 0.1, "the normal tail would do: {worst_normal}");
}

/// Without clusters it stands beside the exact tail.
#[test]
fn without_clusters_it_agrees_with_the_exact_tail() {
    let cell = DrawCell { total: 4000, marked: 400, drawn: 100 };
    let plain = draw_tail(&[cell], 0);
    for observed in [12, 15, 18, 21] {
        let exact = draw_tail(&[cell], observed).p;
        let got = dispersed_tail(observed, plain.mean, plain.variance, plain.third, 1.0);
        near(got, exact, 0.0, 0.2, "tail");
    }
}

/// Third moment of a hypergeometric count, summed point by point.
#[test]
fn third_moment_is_that_of_the_points() {
    for (total, marked, drawn) in [(20, 6, 5), (9, 2, 4), (30, 25, 11), (3, 1, 1)] {
        let cell = DrawCell { total, marked, drawn };
        let at_least = |k: u64| draw_tail(&[cell], k).p;
        let most = marked.min(drawn);
        let point = |k: u64| at_least(k) - if k < most { at_least(k + 1) } else { 0.0 };
        let got = draw_tail(&[cell], 0);
        let least = drawn.saturating_sub(total - marked);
        let want: f64 = (least..=most)
            .map(|k| {
                (if k == least {
                    1.0 - if k < most { at_least(k + 1) } else { 0.0 }
                } else {
                    point(k)
                }) * (k as f64 - got.mean).powi(3)
            })
            .sum();
        near(got.third, want, 1e-9, 1e-9, "third moment");
    }
}

proptest! {
    #[test]
    fn any_moments_give_a_probability(
        observed in any::<u64>(), mean in crate::stats::extremes::amount(), variance in crate::stats::extremes::amount(),
        third in crate::stats::extremes::amount(), sign in any::<bool>(), phi in crate::stats::extremes::amount(),
    ) {
        let third = if sign { -third } else { third };
        let got = dispersed_tail(observed, mean, variance, third, phi);
        prop_assert!(got > 0.0 && got <= 1.0, "{}", got);
    }

    #[test]
    fn more_observed_is_never_more_likely(
        observed in 0_u64..100, mean in 0.1..50.0_f64, phi in 1.0..4.0_f64, third in 0.0..50.0_f64,
    ) {
        let tail = |observed| dispersed_tail(observed, mean, mean, third, phi);
        prop_assert!(tail(observed + 1) <= tail(observed) * (1.0 + 1e-9));
    }
}
