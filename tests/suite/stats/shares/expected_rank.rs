use crate::stats::cases::near;
use motetrail::stats::beta_binomial::{BetaBinomial, Share, beta_binomial};
use motetrail::stats::expected_rank::{Standing, expected_ranks};
use proptest::prelude::*;
use statrs::function::beta::ln_beta;

/// A fit with whole parameters, so that posteriors have closed forms.
fn known(a: f64, b: f64) -> BetaBinomial {
    let fit = beta_binomial(&[Share::whole(1, 9), Share::whole(8, 9)], 0.95);
    BetaBinomial { a: Some(a), b: Some(b), mean: Some(a / (a + b)), ..fit }
}

fn ranks(fit: &BetaBinomial, groups: &[(u64, u64)]) -> Vec<Standing> {
    let groups: Vec<Share> = groups.iter().map(|(events, n)| Share::whole(*events, *n)).collect();
    expected_ranks(fit, &groups).unwrap()
}

/// Probability that a beta variable with whole `c` exceeds another one: the finite sum over i < c of
/// B(a + i, b + d) / ((d + i) B(1 + i, d) B(a, b)), by integrating term by term.
fn exceeds((c, d): (u64, f64), (a, b): (f64, f64)) -> f64 {
    (0..c)
        .map(|i| {
            let i = i as f64;
            (ln_beta(a + i, b + d) - ln_beta(1.0 + i, d) - ln_beta(a, b)).exp() / (d + i)
        })
        .sum()
}

#[test]
fn rank_of_two_is_one_plus_the_chance_that_the_other_is_lower() {
    let found = ranks(&known(2.0, 3.0), &[(4, 9), (9, 12)]);
    // Posteriors beta(6, 8) and beta(11, 6).
    let second_is_higher = exceeds((11, 6.0), (6.0, 8.0));
    near(found[1].expected_rank, 1.0 + second_is_higher, 1.0 / 64.0, 0.0, "second");
    near(found[0].expected_rank, 2.0 - second_is_higher, 1.0 / 64.0, 0.0, "first");
}

/// Posterior beta(1, 2) from a flat prior and one miss: below its mean 1/2 with 1 - (1 - 1/2)^2.
#[test]
fn chance_of_lying_below_the_mean_is_that_of_the_beta_distribution() {
    let found = ranks(&known(1.0, 1.0), &[(0, 1), (0, 0)]);
    near(found[0].below_mean, 0.75, 1e-9, 0.0, "one miss");
    near(found[1].below_mean, 0.5, 1e-9, 0.0, "nothing known");
}

#[test]
fn a_group_that_little_is_known_of_ranks_nearer_the_middle() {
    let found = ranks(&known(8.0, 2.0), &[(0, 1), (300, 600), (500, 600), (550, 600), (590, 600)]);
    assert!(found[0].expected_rank > found[1].expected_rank);
    assert!(found[0].expected_rank < found[4].expected_rank);
}

#[test]
fn groups_that_differ_by_no_more_than_chance_have_no_ranks() {
    let groups = [Share::whole(9, 10); 6];
    assert_eq!(expected_ranks(&beta_binomial(&groups, 0.95), &groups), None);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..Default::default() })]

    #[test]
    fn ranks_add_up_and_do_not_depend_on_the_order(
        counts in prop::collection::vec((0_u64..50, prop_oneof![0_u64..50, Just(1_000_000_000_000)]), 1..9),
    ) {
        let mut groups: Vec<(u64, u64)> = counts.iter().map(|(y, more)| (*y, y + more)).collect();
        let fit = known(3.0, 0.5);
        let found = ranks(&fit, &groups);
        let n = groups.len() as f64;
        let sum: f64 = found.iter().map(|standing| standing.expected_rank).sum();
        prop_assert!((sum - n * (n + 1.0) / 2.0).abs() < 1e-9);
        prop_assert!(found.iter().all(|s| (0.0..=1.0).contains(&s.below_mean) && s.expected_rank >= 1.0));
        groups.reverse();
        let mut turned = ranks(&fit, &groups);
        turned.reverse();
        prop_assert_eq!(found, turned);
    }
}
