//! Tails of the binomial distribution against sums of its terms.

use motetrail::stats::binomial::binomial_at_most;

/// `P(X <= k)` by adding up the terms, each from the one before it.
fn summed(k: u64, n: u64, share: f64) -> f64 {
    let mut term = (1.0 - share).powi(n as i32);
    let mut sum = term;
    for hit in 0..k {
        term *= (n - hit) as f64 / (hit + 1) as f64 * share / (1.0 - share);
        sum += term;
    }
    sum
}

#[test]
fn the_lower_tail_is_the_sum_of_its_terms() {
    for (k, n, share) in [(0, 1, 0.5), (2, 10, 0.3), (0, 40, 0.02), (7, 40, 0.4), (59, 60, 0.9)] {
        let (got, want) = (binomial_at_most(k, n, share), summed(k, n, share));
        assert!((got / want - 1.0).abs() < 1e-12, "{k} of {n} at {share}: {got} not {want}");
    }
    // By hand: 0.7^10 + 10 0.3 0.7^9 + 45 0.09 0.7^8 = 0.382783.
    assert!((binomial_at_most(2, 10, 0.3) - 0.382_783).abs() < 5e-7);
}

#[test]
fn a_tail_too_small_for_a_sum_of_terms_is_still_a_number() {
    let tail = binomial_at_most(0, 100_000, 0.05);
    assert!((0.0..1e-300).contains(&tail), "{tail}");
    assert!(binomial_at_most(4_900, 100_000, 0.05) > binomial_at_most(4_800, 100_000, 0.05));
}

#[test]
fn what_cannot_surprise_has_all_of_the_chance() {
    for (k, n, share) in [(3, 3, 0.2), (9, 3, 0.2), (0, 0, 0.2), (1, 5, 0.0), (1, 5, f64::NAN)] {
        assert_eq!(binomial_at_most(k, n, share), 1.0, "{k} of {n} at {share}");
    }
    assert_eq!(binomial_at_most(4, 5, 1.0), 0.0);
}
