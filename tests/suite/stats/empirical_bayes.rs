use super::cases::{case, near, number};
use super::reference::Table;
use motetrail::stats::beta_binomial::{Share, beta_binomial};
use motetrail::stats::estimate::{Estimate, Warning};
use motetrail::stats::gamma_poisson::{Observed, PriorMean, gamma_poisson};
use motetrail::stats::quantile::gamma_upper_quantile;
use proptest::prelude::*;
use serde_json::json;
use statrs::function::gamma::ln_gamma;

const GROUP: &str = "10_empirical_bayes";

fn beta_binomial_matches(id: &str) {
    let case = case(GROUP, id);
    let data = Table::read(GROUP, &format!("{id}_expected.csv"));
    let shares = data.counts("y").into_iter().zip(data.counts("n"));
    let groups: Vec<Share> = shares.map(|(events, n)| Share::whole(events, n)).collect();
    let fit = beta_binomial(&groups, 0.95);
    assert_eq!(fit.warnings, []);
    case.near(fit.a.unwrap(), &case.expected["alpha"], "alpha");
    case.near(fit.b.unwrap(), &case.expected["beta"], "beta");
    case.near(fit.mean.unwrap(), &case.expected["mean"], "mean");
    case.near(fit.correlation, &case.expected["rho"], "correlation");
    let choose: f64 = groups.iter().map(|g| ln_choose(g.n as u64, g.events as u64)).sum();
    case.near_log(fit.log_likelihood + choose, &case.expected["loglik"]);
    for (i, share) in fit.shares.iter().enumerate() {
        case.near(share.value.unwrap(), &json!(data.numbers("posterior_mean")[i]), "mean");
        case.near(share.low.unwrap(), &json!(data.numbers("lower95")[i]), "low");
        case.near(share.high.unwrap(), &json!(data.numbers("upper95")[i]), "high");
    }
}

fn ln_choose(n: u64, k: u64) -> f64 {
    ln_gamma(n as f64 + 1.0) - ln_gamma(k as f64 + 1.0) - ln_gamma((n - k) as f64 + 1.0)
}

#[test]
fn beta_binomial_matches_moore_and_tsiatis_1991_untreated_litters() {
    beta_binomial_matches("bb_lirat_grp1");
}

#[test]
fn beta_binomial_matches_weil_1970_treated_litters() {
    beta_binomial_matches("bb_weil_treated");
}

fn lip_cancer() -> Vec<Observed> {
    let data = Table::read(GROUP, "scotland_lip_expected.csv");
    let rows = data.counts("y").into_iter().zip(data.numbers("E"));
    rows.map(|(events, expected)| Observed { events, expected }).collect()
}

#[test]
fn gamma_poisson_matches_clayton_and_kaldor_1987_lip_cancer() {
    let case = case(GROUP, "scotland_lip");
    let data = Table::read(GROUP, "scotland_lip_expected.csv");
    let fit = gamma_poisson(&lip_cancer(), PriorMean::Fitted, 0.95);
    case.near(fit.shape.unwrap(), &case.expected["shape"], "shape");
    case.near(fit.rate.unwrap(), &case.expected["rate"], "rate");
    case.near(fit.mean.unwrap(), &case.expected["prior_mean"], "mean");
    case.near_log(fit.log_likelihood, &case.expected["loglik"]);
    for (i, ratio) in fit.ratios.iter().enumerate() {
        let want = |column: &str| json!(data.numbers(column)[i]);
        case.near(ratio.value.unwrap(), &want("posterior_mean"), "mean");
        case.near(ratio.low.unwrap(), &want("lower95"), "low");
        case.near(ratio.high.unwrap(), &want("upper95"), "high");
    }
}

/// With expectations scaled by the fitted mean, a known mean of 1 is where the fit lies anyway.
#[test]
fn known_mean_of_one_gives_the_same_shape_on_scaled_expectations() {
    let case = case(GROUP, "scotland_lip");
    let mut groups = lip_cancer();
    let mean = number(&case.expected["prior_mean"]);
    groups.iter_mut().for_each(|g| g.expected *= mean);
    let fit = gamma_poisson(&groups, PriorMean::Known(1.0), 0.95);
    case.near(fit.shape.unwrap(), &case.expected["shape"], "shape");
    case.near(fit.rate.unwrap(), &case.expected["shape"], "rate");
    assert_eq!(fit.mean, Some(1.0));
}

#[test]
fn next_to_nothing_expected_is_nothing_expected() {
    let groups =
        [(3, 1e-300), (5, 2.0), (0, 4.0)].map(|(events, expected)| Observed { events, expected });
    for prior in [PriorMean::Fitted, PriorMean::Known(1e-300), PriorMean::Known(1.0)] {
        let fit = gamma_poisson(&groups, prior, 0.95);
        assert!(fit.log_likelihood.is_finite(), "{fit:?}");
        let without = groups.map(|g| if g.expected < 1.0 { Observed::default() } else { g });
        assert_eq!(fit.log_likelihood, gamma_poisson(&without, prior, 0.95).log_likelihood);
    }
}

/// Closed form: groups that are alike have no spread between them, so every share is the pooled one.
#[test]
fn groups_that_are_alike_are_pooled() {
    let fit = beta_binomial(&[Share::whole(3, 10); 4], 0.95);
    assert_eq!((fit.a, fit.correlation, fit.mean), (None, 0.0, Some(0.3)));
    assert_eq!(fit.warnings, [Warning::Boundary]);
    near(fit.shares[2].value.unwrap(), 0.3, 1e-15, 0.0, "pooled");
    let fit = gamma_poisson(&[Observed { events: 3, expected: 2.0 }; 4], PriorMean::Fitted, 0.95);
    assert_eq!((fit.shape, fit.mean), (None, Some(1.5)));
    // Garwood (1936), 12 events: 6.2006 to 20.9616, over 8.
    near(fit.ratios[0].low.unwrap(), 6.2006 / 8.0, 1e-5, 0.0, "low");
    near(fit.ratios[0].high.unwrap(), 20.9616 / 8.0, 1e-5, 0.0, "high");
}

/// Closed form: all-or-nothing groups push both parameters to 0; the shares become the raw ones.
#[test]
fn all_or_nothing_groups_are_at_the_other_edge() {
    let groups = [Share::whole(0, 9), Share::whole(9, 9), Share::whole(9, 9)];
    let fit = beta_binomial(&groups, 0.95);
    assert_eq!((fit.a, fit.warnings.contains(&Warning::Boundary)), (None, true));
    near(fit.shares[0].value.unwrap(), 0.0, 1e-5, 0.0, "raw");
    near(fit.mean.unwrap(), 2.0 / 3.0, 1e-4, 0.0, "mean");
}

/// A second formulation: the likelihood as the product that it is, term by term.
#[test]
fn likelihood_of_large_groups_is_the_product_of_its_terms() {
    let groups = [(120, 4000), (900, 5000), (3, 700), (2600, 9000)];
    let groups = groups.map(|(events, n)| Share::whole(events, n));
    let fit = beta_binomial(&groups, 0.95);
    let (a, b) = (fit.a.unwrap(), fit.b.unwrap());
    let rising = |x: f64, k: f64| (0..k as u64).map(|i| (x + i as f64).ln()).sum::<f64>();
    let parts = |g: &Share| rising(a, g.events) + rising(b, g.n - g.events) - rising(a + b, g.n);
    let want: f64 = groups.iter().map(parts).sum();
    near(fit.log_likelihood, want, 0.0, 1e-12, "log-likelihood");
}

/// Effective counts are not whole: the same likelihood from the logarithm of the gamma function.
#[test]
fn likelihood_of_counts_that_are_not_whole_is_that_of_the_gamma_function() {
    let groups = [(3.7, 40.3), (9.2, 50.9), (0.4, 7.1), (26.6, 90.0)];
    let groups = groups.map(|(events, n)| Share { events, n });
    let fit = beta_binomial(&groups, 0.95);
    let (a, b) = (fit.a.unwrap(), fit.b.unwrap());
    let rising = |x: f64, k: f64| ln_gamma(x + k) - ln_gamma(x);
    let at = |a: f64, b: f64| -> f64 {
        let parts =
            |g: &Share| rising(a, g.events) + rising(b, g.n - g.events) - rising(a + b, g.n);
        groups.iter().map(parts).sum()
    };
    near(fit.log_likelihood, at(a, b), 0.0, 1e-10, "log-likelihood");
    // It is the top: steps of a tenth either way lower it.
    for (x, y) in [(1.1, 1.0), (0.9, 1.0), (1.0, 1.1), (1.0, 0.9)] {
        assert!(at(a * x, b * y) < fit.log_likelihood);
    }
}

/// Large samples: with ten thousand million trials a share's interval is the normal one, with six
/// events among them the gamma one.
#[test]
fn intervals_of_huge_groups_are_the_normal_and_the_gamma_one() {
    let n = 10_000_000_000;
    let groups = [3_000_000_000, 5_000_000_000, 6, n - 6].map(|events| Share::whole(events, n));
    let fit = beta_binomial(&groups, 0.95);
    let half = 1.959963984540054 * (0.3 * 0.7 / 1e10_f64).sqrt();
    near(fit.shares[0].low.unwrap(), 0.3 - half, 1e-4 * half, 0.0, "normal");
    near(fit.shares[0].high.unwrap(), 0.3 + half, 1e-4 * half, 0.0, "normal");
    let few = gamma_upper_quantile(fit.a.unwrap() + 6.0, 0.025) / 1e10;
    near(fit.shares[2].high.unwrap(), few, 0.0, 1e-7, "gamma");
    let few = gamma_upper_quantile(fit.b.unwrap() + 6.0, 0.025) / 1e10;
    near(1.0 - fit.shares[3].low.unwrap(), few, 1e-15, 0.0, "gamma");
}

#[test]
fn no_data_gives_no_numbers() {
    let fit = beta_binomial(&[Share::default(); 2], 0.95);
    assert_eq!((fit.mean, fit.shares[0].value), (None, None));
    assert_eq!(fit.warnings, [Warning::NoData]);
    let fit = gamma_poisson(&[Observed { events: 3, expected: 0.0 }], PriorMean::Fitted, 0.95);
    assert_eq!((fit.mean, fit.ratios[0].value), (None, None));
}

fn sound(estimates: &[Estimate]) -> bool {
    estimates.iter().all(|e| {
        let numbers = [e.low, e.value, e.high].into_iter().flatten().collect::<Vec<_>>();
        numbers.len() == 3 && numbers.is_sorted() && numbers.iter().all(|x| x.is_finite())
    })
}

fn count() -> impl Strategy<Value = u64> {
    prop_oneof![4 => 0_u64..40, 1 => Just(0), 1 => Just(1_000_000_000_000)]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn shares_lie_between_the_groups_own_and_the_mean(groups in prop::collection::vec((count(), count()), 1..8)) {
        let groups: Vec<Share> = groups.iter().map(|(y, r)| Share::whole(*y, y + r)).collect();
        let fit = beta_binomial(&groups, 0.95);
        if let Some(mean) = fit.mean {
            prop_assert!(sound(&fit.shares), "{:?}", fit);
            for (g, s) in groups.iter().zip(&fit.shares).filter(|(g, _)| g.n > 0.0) {
                let (raw, value) = (g.events / g.n, s.value.unwrap());
                prop_assert!(value >= raw.min(mean) - 1e-9 && value <= raw.max(mean) + 1e-9);
            }
        }
    }

    #[test]
    fn ratios_are_finite_and_ordered(
        groups in prop::collection::vec((count(), prop_oneof![0.01_f64..50.0, Just(0.0), Just(1e12)]), 1..8),
        known in any::<bool>(),
    ) {
        let groups: Vec<Observed> = groups.iter().map(|(y, e)| Observed { events: *y, expected: *e }).collect();
        let prior = if known { PriorMean::Known(1.0) } else { PriorMean::Fitted };
        let fit = gamma_poisson(&groups, prior, 0.95);
        if fit.mean.is_some() {
            prop_assert!(sound(&fit.ratios), "{:?}", fit);
        }
    }

    #[test]
    fn empty_groups_change_no_other(groups in prop::collection::vec((0_u64..20, 0_u64..20), 1..8)) {
        let mut groups: Vec<Share> = groups.iter().map(|(y, r)| Share::whole(*y, y + r)).collect();
        let plain = beta_binomial(&groups, 0.95);
        groups.push(Share::default());
        let longer = beta_binomial(&groups, 0.95);
        prop_assert_eq!((plain.a, plain.b, plain.mean), (longer.a, longer.b, longer.mean));
        prop_assert_eq!(&plain.shares[..], &longer.shares[..plain.shares.len()]);
    }
}
