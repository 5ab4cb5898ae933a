use crate::stats::cases::{case, near, number};
use crate::stats::reference::Table;
use motetrail::stats::beta_geometric::{BetaGeometric, beta_geometric, heterogeneity};
use motetrail::stats::estimate::Warning;
use motetrail::stats::geometric::{Trial, geometric, trials};
use proptest::prelude::*;

const GROUP: &str = "07_geometric_betageometric";

fn counts(id: &str) -> (Vec<u64>, Vec<u64>) {
    let data = Table::read(GROUP, &format!("{id}.csv"));
    (data.counts("events"), data.counts("censored_after_t"))
}

fn geometric_matches(id: &str) {
    let case = case(GROUP, id);
    let (events, censored) = counts(id);
    let got = geometric(&events, &censored, 0.95);
    let want = &case.expected["geometric"];
    case.near(got.chance.value.unwrap(), &want["p"], "p");
    case.near(got.standard_error, &want["se"], "se");
    case.near(got.chance.n, &want["trials"], "trials");
    near(got.log_likelihood, number(&want["loglik"]), 1e-7, 0.0, "loglik");
}

fn beta_geometric_matches(id: &str) {
    geometric_matches(id);
    let case = case(GROUP, id);
    let (events, censored) = counts(id);
    let got = beta_geometric(&events, &censored, 0.95);
    let want = &case.expected["beta_geometric"];
    case.near_log(got.log_likelihood, &want["loglik"]);
    case.near(got.mean.value.unwrap(), &want["mean_p"], "mean");
    let (a, b) = (got.a.value.unwrap(), got.b.value.unwrap());
    case.near(a, &want["alpha"], "alpha");
    case.near(b, &want["beta"], "beta");
    let covariance = got.log_covariance.unwrap();
    case.near(a * covariance[0][0].sqrt(), &want["se_alpha"], "se alpha");
    case.near(b * covariance[1][1].sqrt(), &want["se_beta"], "se beta");
    case.near(covariance[0][1], &want["cov_log_alpha_beta"][0][1], "covariance");
    for (k, hazard) in (1..).zip(want["hazard"].as_array().unwrap()) {
        case.near(got.hazard(k), hazard, "hazard");
        case.near(1.0 - got.succeeded(k), &want["survival"][k as usize - 1], "survival");
    }
    let test = heterogeneity(&geometric(&events, &censored, 0.95), &got);
    let want = &case.expected["lr_vs_geometric"];
    // A difference of two log-likelihoods, each printed to 1e-7.
    near(test.statistic, number(&want["lr"]), 4e-7, 0.0, "lr");
    case.near(test.p, &want["p_half_chi2_1"], "p");
}

#[test]
fn beta_geometric_matches_fader_and_hardie_2007_high_end_customers() {
    beta_geometric_matches("fader_hardie_highend");
}

#[test]
fn beta_geometric_matches_weinberg_and_gladen_1986_non_smokers() {
    beta_geometric_matches("fecundability_nonsmokers");
}

#[test]
fn beta_geometric_matches_reference_with_censoring_at_several_trials() {
    beta_geometric_matches("bg_mixed_censoring");
}

#[test]
fn halving_counts_give_the_geometric_distribution_and_say_boundary() {
    let (events, censored) = counts("geometric_only_homogeneous");
    geometric_matches("geometric_only_homogeneous");
    let mixed = beta_geometric(&events, &censored, 0.95);
    assert_eq!((mixed.a.value, mixed.b.value, mixed.log_covariance), (None, None, None));
    assert!(mixed.mean.warnings.contains(&Warning::Boundary));
    assert_eq!((mixed.hazard(1), mixed.hazard(9)), (0.5, 0.5));
    let want = case(GROUP, "geometric_only_homogeneous");
    want.near(mixed.log_likelihood, &want.expected["bg_supremum_loglik"], "supremum");
    assert_eq!(heterogeneity(&geometric(&events, &censored, 0.95), &mixed).p, 1.0);
}

#[test]
fn geometric_edges_match_reference() {
    let case = case(GROUP, "geometric_edges");
    let inputs: [(&str, &[u64], &[u64]); 3] = [
        ("all_first", &[9], &[0]),
        ("none_censored_only", &[0, 0, 0], &[0, 0, 7]),
        ("n1", &[0, 0, 1], &[0, 0, 0]),
    ];
    for (name, events, censored) in inputs {
        let fit = geometric(events, censored, 0.95);
        let want = &case.expected[name];
        case.near(fit.chance.value.unwrap(), &want["p"], name);
        case.near(fit.standard_error, &want["se"], name);
        case.near(fit.log_likelihood, &want["loglik"], name);
    }
}

/// Closed form: with successes at the first trial only, the likelihood grows towards units that
/// succeed at once or never.
#[test]
fn success_at_once_or_never_has_no_top_inside() {
    let fit = beta_geometric(&[40], &[0, 0, 0, 60], 0.95);
    assert_eq!(fit.a.value, None);
    assert!(fit.mean.warnings.contains(&Warning::Boundary));
    near(fit.hazard(1), 0.4, 1e-12, 0.0, "first");
    near(fit.hazard(2), 0.0, 1e-4, 0.0, "later");
}

#[test]
fn at_risk_is_counted_backwards() {
    let want = [(10, 3), (6, 2), (4, 0)].map(|(at_risk, events)| Trial { at_risk, events });
    assert_eq!(trials(&[3, 2], &[1, 0, 4]), want);
}

#[test]
fn nothing_seen_is_no_data() {
    let fit = beta_geometric(&[], &[], 0.95);
    assert_eq!(fit.mean.value, None);
    assert!(fit.mean.warnings.contains(&Warning::NoData));
    assert_eq!(fit.hazard(3), 0.0);
}

/// A second formulation: the likelihood from gamma functions, at and around the top.
#[test]
fn no_neighbour_is_better_than_the_top_by_log_gamma() {
    use statrs::function::gamma::ln_gamma;
    let (events, censored) = ([30_u64, 14, 9, 3, 4], [2_u64, 1, 0, 5, 6]);
    let fit = beta_geometric(&events, &censored, 0.95);
    let ln_beta = |x: f64, y: f64| ln_gamma(x) + ln_gamma(y) - ln_gamma(x + y);
    let value = |a: f64, b: f64| -> f64 {
        (0..5)
            .map(|k| {
                let t = k as f64 + 1.0;
                events[k] as f64 * (ln_beta(a + 1.0, b + t - 1.0) - ln_beta(a, b))
                    + censored[k] as f64 * (ln_beta(a, b + t) - ln_beta(a, b))
            })
            .sum()
    };
    let (a, b) = (fit.a.value.unwrap(), fit.b.value.unwrap());
    near(fit.log_likelihood, value(a, b), 1e-9, 0.0, "value");
    for (da, db) in [(1.02, 1.0), (0.98, 1.0), (1.0, 1.02), (1.0, 0.98), (1.02, 1.02), (0.98, 0.98)]
    {
        assert!(value(a * da, b * db) < value(a, b));
    }
}

/// Numbers in (0, 1) from SplitMix64, seed given.
fn uniforms(seed: u64) -> impl Iterator<Item = f64> {
    (1_u64..).map(move |i| {
        let x = seed.wrapping_add(i.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (((x ^ (x >> 31)) >> 11) as f64 + 0.5) * 2.0_f64.powi(-53)
    })
}

/// Successes at trials 1 to 8 of 300 units, and those that left after the eighth; `chance` makes a
/// unit's chance of a uniform number.
fn simulated(seed: u64, chance: impl Fn(f64) -> f64) -> (Vec<u64>, Vec<u64>) {
    let (mut events, mut censored) = (vec![0; 8], vec![0; 8]);
    let mut draw = uniforms(seed);
    let mut next = || draw.next().unwrap();
    for _ in 0..300 {
        let chance = chance(next());
        match (0..8).find(|_| next() < chance) {
            Some(trial) => events[trial] += 1,
            None => censored[7] += 1,
        }
    }
    (events, censored)
}

/// Simulation, seeds 0 to 399: without differences between units the halved p value falls below
/// 0.05 in 5 % of samples, within four standard errors; with uniform chances nearly always.
#[test]
fn heterogeneity_test_keeps_its_size_and_finds_uniform_chances() {
    let rejected = |chance: fn(f64) -> f64| {
        let p = |seed| {
            let (events, censored) = simulated(seed, chance);
            let common = geometric(&events, &censored, 0.95);
            heterogeneity(&common, &beta_geometric(&events, &censored, 0.95)).p
        };
        (0..400).filter(|seed| p(seed << 32) < 0.05).count() as f64 / 400.0
    };
    near(rejected(|_| 0.35), 0.05, 4.0 * (0.05_f64 * 0.95 / 400.0).sqrt(), 0.0, "size");
    assert!(rejected(|u| u) > 0.95);
}

/// Simulation, seeds 0 to 399: uniform chances are the beta distribution with a = b = 1; the 95 %
/// intervals cover both, within four standard errors.
#[test]
fn intervals_cover_the_parameters_of_uniform_chances() {
    let covered = |seed: u64| {
        let (events, censored) = simulated(seed << 32, |u| u);
        let fit = beta_geometric(&events, &censored, 0.95);
        [&fit.a, &fit.b].map(|e| e.low.unwrap() <= 1.0 && 1.0 <= e.high.unwrap())
    };
    let covered: Vec<[bool; 2]> = (0..400).map(covered).collect();
    for parameter in 0..2 {
        let share = covered.iter().filter(|c| c[parameter]).count() as f64 / 400.0;
        near(share, 0.95, 4.0 * (0.05_f64 * 0.95 / 400.0).sqrt(), 0.0, "coverage");
    }
}

fn sound(fit: &BetaGeometric) -> bool {
    let inside = [&fit.mean, &fit.a, &fit.b].iter().all(|e| {
        let numbers = [e.low, e.value, e.high].into_iter().flatten().collect::<Vec<_>>();
        numbers.iter().all(|x| x.is_finite()) && numbers.is_sorted()
    });
    inside
        && (1..50)
            .all(|k| (0.0..=1.0).contains(&fit.hazard(k)) && fit.hazard(k + 1) <= fit.hazard(k))
}

proptest! {
    #[test]
    fn beta_geometric_is_finite_and_never_worse_than_geometric(
        events in prop::collection::vec(prop_oneof![0_u64..40, Just(0), Just(1_000_000_000_000)], 0..7),
        censored in prop::collection::vec(prop_oneof![0_u64..40, Just(0), Just(1_000_000_000_000)], 0..7),
    ) {
        let (common, mixed) = (geometric(&events, &censored, 0.95), beta_geometric(&events, &censored, 0.95));
        prop_assert!(sound(&mixed), "{mixed:?}");
        let slack = 1e-9 * (1.0 + common.log_likelihood.abs());
        if mixed.hazard(2) > 1e-4 {
            prop_assert!(mixed.log_likelihood >= common.log_likelihood - slack);
        }
    }

    #[test]
    fn trials_that_nobody_made_change_nothing(
        events in prop::collection::vec(0_u64..40, 1..7), empty in 1_usize..5,
    ) {
        let mut longer = events.clone();
        longer.extend(vec![0; empty]);
        prop_assert_eq!(beta_geometric(&events, &[], 0.9), beta_geometric(&longer, &[0, 0], 0.9));
    }
}

/// Profile-likelihood limits of Weinberg & Gladen's (1986) non-smokers: worked out apart from this
/// program by golden sections on the log-gamma form of the likelihood and bisection, level 0.95.
#[test]
fn profile_limits_match_those_of_the_log_gamma_likelihood() {
    let events = [198, 107, 55, 38, 18, 22, 7, 9, 5, 3, 6, 6];
    let mut censored = [0; 12];
    censored[11] = 12;
    let fit = beta_geometric(&events, &censored, 0.95);
    for (estimate, want) in [
        (&fit.a, [2.05991549, 2.98796322, 4.83929690]),
        (&fit.b, [2.70706354, 4.33398691, 7.78298818]),
        (&fit.mean, [0.37009592, 0.40808298, 0.44779209]),
    ] {
        let found = [estimate.low, estimate.value, estimate.high];
        for (found, want) in found.into_iter().zip(want) {
            near(found.unwrap(), want, 0.0, 1e-5, "limit");
        }
    }
}

/// Of 190, 85, 41 and 20 that made each trial 105, 44, 21 and 10 passed: the chance hardly falls, so
/// one chance for all fits nearly as well, and nothing bounds `a` and `b` from above.
#[test]
fn parameters_without_a_bound_in_the_data_have_no_upper_limit() {
    let fit = beta_geometric(&[105, 44, 21, 10], &[0, 0, 0, 10], 0.95);
    for estimate in [&fit.a, &fit.b] {
        assert!(estimate.value.is_some() && estimate.low.is_some(), "{estimate:?}");
        assert_eq!(estimate.high, None);
    }
    assert!(fit.mean.high.is_some());
}
