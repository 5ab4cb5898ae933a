//! The stopping rule by hand, against every rule there is, and at its extremes. No published example
//! with numbers is at hand; what stands here was worked out on paper.

use motetrail::stats::beta_geometric::{beta_geometric, beta_geometric_quick};
use motetrail::stats::stopping_rule::{Chances, StoppingRule, cost_of_practice, stopping_rule};
use proptest::prelude::*;

use crate::stats::cases::near;
use crate::stats::extremes::amount;

fn chances(of: &[(f64, f64)]) -> Vec<Chances> {
    of.iter().map(|(success, loss)| Chances { success: *success, loss: *loss }).collect()
}

fn is(got: &StoppingRule, limit: usize, costs: &[f64]) {
    assert_eq!((got.limit, got.costs.len()), (limit, costs.len()), "{got:?}");
    for (got, want) in got.costs.iter().zip(costs) {
        near(*got, *want, 1e-12, 0.0, "cost");
    }
    near(got.value, costs[limit], 1e-12, 0.0, "value");
}

/// The second trial saves 0.05 of 10 and costs 1: V_2 = 10, V_1 = 1 + 0.1 10 + 0.4 10.
#[test]
fn a_worked_case_stops_after_the_first_trial() {
    let own = chances(&[(0.5, 0.1), (0.05, 0.0)]);
    is(&stopping_rule(&own, 1.0, 10.0), 1, &[10.0, 6.0, 6.2]);
    // Half stop after the first and half after the second: half way between the two.
    near(cost_of_practice(&own, &[0.5], 1.0, 10.0).unwrap(), 6.1, 1e-12, 0.0, "practice");
    near(cost_of_practice(&own, &[], 1.0, 10.0).unwrap(), 6.0, 1e-12, 0.0, "practice");
    assert_eq!(cost_of_practice(&[], &[], 1.0, 10.0), None);
}

/// A first trial that does nothing pays where the second does: V_2 = 1 + 0.1 10, V_1 = 1 + V_2.
#[test]
fn a_poor_trial_may_pay_for_the_one_behind_it() {
    is(&stopping_rule(&chances(&[(0.0, 0.0), (0.9, 0.0)]), 1.0, 10.0), 2, &[10.0, 11.0, 3.0]);
    // But not where that is out of reach.
    is(&stopping_rule(&chances(&[(0.0, 0.9), (0.9, 0.0)]), 1.0, 10.0), 0, &[10.0, 11.0, 10.2]);
}

#[test]
fn trials_dearer_than_giving_up_are_never_made_and_free_ones_always() {
    let own = chances(&[(0.5, 0.0); 20]);
    assert_eq!(stopping_rule(&own, 10.0, 10.0).limit, 0);
    // What a trial is worth is exactly its price: of equal costs the fewer trials.
    assert_eq!(stopping_rule(&own, 5.0, 10.0).limit, 0);
    assert_eq!(stopping_rule(&own, 0.0, 10.0).limit, 20);
    assert_eq!(stopping_rule(&own, 4.9, 10.0).limit, 20);
    let none = stopping_rule(&[], 1.0, 10.0);
    assert_eq!((none.limit, none.value, none.costs), (0, 10.0, vec![10.0]));
}

/// Cost of a rule that says for every trial whether to make it: stops at the first that it does not.
fn cost_of(makes: u32, own: &[Chances], trial: f64, given_up: f64) -> f64 {
    let mut cost = 0.0;
    let mut here = 1.0;
    for (k, own) in own.iter().enumerate() {
        if makes >> k & 1 == 0 {
            break;
        }
        cost += here * trial + here * own.loss * given_up;
        here *= 1.0 - own.success - own.loss;
    }
    cost + here * given_up
}

proptest! {
    #[test]
    fn no_rule_of_any_kind_is_cheaper(
        own in prop::collection::vec((0.0..1.0_f64, 0.0..1.0_f64), 0..7),
        trial in 0.0..5.0_f64, given_up in 0.0..10.0_f64,
        quit in prop::collection::vec(0.0..1.0_f64, 0..7),
    ) {
        let own: Vec<Chances> = own
            .into_iter()
            .map(|(success, loss)| Chances { success, loss: loss * (1.0 - success) })
            .collect();
        let got = stopping_rule(&own, trial, given_up);
        let all = (0..1_u32 << own.len()).map(|makes| cost_of(makes, &own, trial, given_up));
        let least = all.fold(f64::INFINITY, f64::min);
        prop_assert!((got.value - least).abs() < 1e-9, "{got:?} {least}");
        let by_limit = got.costs.iter().copied().fold(f64::INFINITY, f64::min);
        prop_assert!((got.value - by_limit).abs() < 1e-9);
        prop_assert!((got.costs[got.limit] - got.value).abs() < 1e-9);
        if let Some(practice) = cost_of_practice(&own, &quit, trial, given_up) {
            prop_assert!(practice >= got.value - 1e-9);
        }
    }

    #[test]
    fn anything_in_gives_numbers_out(
        own in prop::collection::vec((amount(), amount()), 0..21),
        trial in amount(), given_up in amount(), quit in prop::collection::vec(amount(), 0..21),
    ) {
        let own = chances(&own);
        let got = stopping_rule(&own, trial, given_up);
        prop_assert!(got.value.is_finite() && got.limit <= own.len());
        prop_assert_eq!(got.costs.len(), own.len() + 1);
        prop_assert!(got.costs.iter().all(|cost| cost.is_finite() && *cost >= 0.0));
        let practice = cost_of_practice(&own, &quit, trial, given_up);
        prop_assert!(practice.is_some() != own.is_empty());
        prop_assert!(practice.is_none_or(f64::is_finite));
    }

    /// The quick fit is the same fit.
    #[test]
    fn a_fit_without_profile_limits_has_the_same_hazards(
        passed in prop::collection::vec(0_u64..500, 0..8),
        ended in prop::collection::vec(0_u64..500, 0..8),
    ) {
        let slow = beta_geometric(&passed, &ended, 0.95);
        let quick = beta_geometric_quick(&passed, &ended);
        for trial in 1..=20 {
            prop_assert_eq!(slow.hazard(trial), quick.hazard(trial));
        }
        prop_assert_eq!(slow.hazards, quick);
    }
}
