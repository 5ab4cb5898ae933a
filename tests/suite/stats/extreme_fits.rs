//! Nothing that is not a number comes out of fits, charts, lists and resamples, whatever goes in.

use super::extremes::{amount, count, level, sound};
use motetrail::stats::adjusted_curve::{Mix, adjusted_curve};
use motetrail::stats::agreement::{Kappa, Rated, cohen, fleiss};
use motetrail::stats::benjamini_hochberg;
use motetrail::stats::beta_binomial::{Share, beta_binomial};
use motetrail::stats::beta_geometric::{beta_geometric, heterogeneity};
use motetrail::stats::bootstrap::{Resampled, expanded_percentile};
use motetrail::stats::discrete_logistic::{Grouped, discrete_logistic};
use motetrail::stats::funnel::funnel;
use motetrail::stats::gamma_poisson::{Observed, PriorMean, gamma_poisson};
use motetrail::stats::geometric::geometric;
use motetrail::stats::grouped_recurrence::{GroupedHistories, grouped_mean_cumulative};
use motetrail::stats::grouped_trend::{Spell, grouped_laplace, grouped_power_law, scatter_about};
use motetrail::stats::hypergeometric::{DrawCell, draw_tail, normal_tail};
use motetrail::stats::order_quantile::order_quantile;
use motetrail::stats::p_prime::p_prime;
use motetrail::stats::poisson_regression::{PoissonData, poisson_regression};
use motetrail::stats::rate::{garwood_dispersed, rate_ratio_scaled};
use motetrail::stats::run_rules::run_rules;
use motetrail::stats::shared_scatter::{Part, scatter};
use motetrail::stats::standardised::{WeightedStratum, fay_feuer_dispersed};
use proptest::collection::vec;
use proptest::prelude::*;

/// Exposures and effective sizes that counts of 0 to 10^12 can give, and next to nothing.
fn size() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), Just(1e-300), Just(1e-6), 0.1..1e3_f64, Just(1e6), Just(1e12),]
}

fn is_probability(p: f64) -> bool {
    (0.0..=1.0).contains(&p)
}

fn sound_kappa(kappa: &Kappa) -> bool {
    let errors = [kappa.standard_error, kappa.null_error];
    sound(&kappa.kappa) && errors.iter().flatten().all(|se| se.is_finite() && *se >= 0.0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn charts_are_sound(
        samples in vec((count(), count()), 0..10), units in vec((size(), size()), 0..10),
        n in size(), level in level(),
    ) {
        let chart = p_prime(&samples);
        prop_assert!(chart.centre.is_none_or(is_probability));
        for point in chart.points.iter().flatten() {
            prop_assert!(point.z.is_finite() && point.z_prime.is_finite(), "{:?}", point);
            let limits = [point.prime.0, chart.centre.unwrap(), point.prime.1];
            prop_assert!(limits.is_sorted() && limits.iter().copied().all(is_probability));
        }
        let z: Vec<f64> = chart.points.iter().flatten().map(|point| point.z_prime).collect();
        prop_assert!(run_rules(&z).iter().all(|signal| signal.index < z.len()));
        if let Some(funnel) = funnel(&units) {
            prop_assert!(funnel.phi >= 1.0 && funnel.phi.is_finite(), "{:?}", funnel);
            let limits = funnel.limits(n, level);
            prop_assert!([limits.low, funnel.centre, limits.high].is_sorted(), "{:?}", limits);
            prop_assert!((0..units.len()).filter_map(|i| funnel.adjusted(i)).all(f64::is_finite));
        }
    }

    #[test]
    fn trials_until_success_are_sound(
        events in vec(count(), 0..6), censored in vec(count(), 0..6), level in level(),
    ) {
        let common = geometric(&events, &censored, level);
        prop_assert!(sound(&common.chance) && common.standard_error.is_finite());
        let mixed = beta_geometric(&events, &censored, level);
        for e in [&mixed.mean, &mixed.a, &mixed.b] {
            prop_assert!(sound(e), "{:?}", mixed);
        }
        prop_assert!((1..9).map(|k| mixed.hazard(k)).all(is_probability));
        prop_assert!((1..9).map(|k| mixed.succeeded(k)).all(is_probability));
        let test = heterogeneity(&common, &mixed);
        prop_assert!(test.statistic.is_finite() && is_probability(test.p));
    }

    #[test]
    fn regressions_are_sound(rows in vec((count(), count(), 0_u64..4), 1..8), level in level()) {
        let n: Vec<f64> = rows.iter().map(|r| (r.0 + r.1) as f64).collect();
        let y: Vec<f64> = rows.iter().map(|r| r.0 as f64).collect();
        let clusters: Vec<u64> = rows.iter().map(|r| r.2).collect();
        let columns = vec![vec![1.0; rows.len()], (0..rows.len()).map(|i| (i % 2) as f64).collect()];
        let grouped = Grouped { columns: &columns, trials: &n, events: &y, clusters: &clusters };
        if let Ok(fit) = discrete_logistic(&grouped, level) {
            prop_assert!(fit.coefficients.iter().all(sound), "{:?}", fit);
            prop_assert!(fit.adjusted.iter().flatten().all(|x| x.is_finite()), "{:?}", fit);
            let mix = Mix { by_trial: &[vec![1.0]], by_unit: &[vec![0.0], vec![1.0]], weights: &n };
            let curve = adjusted_curve(&mix, &fit.beta, &fit.adjusted, level);
            prop_assert!(curve.iter().all(|p| sound(&p.hazard) && sound(&p.succeeded)), "{:?}", curve);
        }
        let offset: Vec<f64> = n.iter().map(|n| (n + 1.0).ln()).collect();
        let data = PoissonData {
            events: &y, columns: &columns, offset: &offset, clusters: Some(&clusters),
        };
        if let Ok(fit) = poisson_regression(&data) {
            let robust = fit.robust.iter().flatten().flatten();
            let numbers = fit.coefficients.iter().chain(fit.covariance.iter().flatten());
            prop_assert!(numbers.chain(robust).all(|x| x.is_finite()), "{:?}", fit);
            prop_assert!(fit.deviance.is_finite() && fit.pearson.is_finite(), "{:?}", fit);
        }
    }

    #[test]
    fn standardised_rates_are_sound(
        rows in vec((amount(), count(), amount()), 0..6), phi in amount(), level in level(),
    ) {
        let strata: Vec<WeightedStratum> = rows.iter()
            .map(|&(weight, events, exposure)| WeightedStratum { weight, events, exposure }).collect();
        for phi in [1.0, phi] {
            let got = fay_feuer_dispersed(&strata, phi, level);
            prop_assert!(sound(&got), "{:?}", got);
        }
    }

    #[test]
    fn over_dispersed_counts_are_sound(
        rows in vec((0_u64..3, 0_u64..3, count(), amount()), 0..8), phi in amount(), level in level(),
    ) {
        let parts: Vec<Part> = rows.iter()
            .map(|&(cluster, stratum, events, exposure)| Part { cluster, stratum, events, exposure })
            .collect();
        let found = scatter(&parts);
        prop_assert!(is_probability(found.p) && found.df.is_finite() && found.df >= 0.0, "{:?}", found);
        prop_assert!(found.phi.is_none_or(|phi| phi >= 0.0 && phi.is_finite()), "{:?}", found);
        prop_assert!(found.widened(level).is_none_or(|phi| phi >= 1.0 && phi.is_finite()), "{:?}", found);
        for row in rows.windows(2) {
            prop_assert!(sound(&garwood_dispersed(row[0].2, row[0].3, phi, level)));
            let ratio = rate_ratio_scaled(row[0].2, row[0].3, row[1].2, row[1].3, phi, level);
            prop_assert!(sound(&ratio.ratio) && is_probability(ratio.p), "{:?}", ratio);
        }
        let strata: Vec<WeightedStratum> = rows.iter()
            .map(|&(_, weight, events, exposure)| WeightedStratum { weight: weight as f64, events, exposure })
            .collect();
        prop_assert!(sound(&fay_feuer_dispersed(&strata, phi, level)));
    }

    #[test]
    fn counts_over_time_are_sound(
        rows in vec((count(), amount()), 0..6), ages in vec((0_u32..9, 0_u32..9, count()), 0..6),
        values in vec((amount(), count()), 0..6), phi in amount(), level in level(),
    ) {
        let spells: Vec<Spell> =
            rows.iter().map(|&(events, exposure)| Spell { events, exposure }).collect();
        let growth = grouped_power_law(&spells, phi, level);
        prop_assert!(sound(&growth), "{:?}", growth);
        prop_assert!(grouped_laplace(&spells, phi).is_none_or(|t| t.u.is_finite() && is_probability(t.p)));
        prop_assert!(scatter_about(&spells, growth.value.unwrap_or(1.0)).is_none_or(f64::is_finite));
        let histories = GroupedHistories {
            ended: ages.iter().map(|&(age, _, units)| (age, units)).collect(),
            events: ages.clone(),
            pairs: ages,
        };
        for point in grouped_mean_cumulative(&histories, phi, level) {
            prop_assert!(sound(&point.mean) && point.variance.is_finite(), "{:?}", point);
        }
        for share in [0.25, 0.5, 0.75, phi] {
            let got = order_quantile(&values, share, level);
            prop_assert!(sound(&got), "{:?}", got);
        }
    }

    #[test]
    fn lists_are_sound(
        cells in vec((count(), count(), count()), 0..4), observed in count(), phi in amount(),
        p in vec(amount(), 0..6),
    ) {
        let cells: Vec<DrawCell> = cells.iter()
            .map(|&(total, marked, drawn)| DrawCell { total, marked, drawn }).collect();
        let tail = draw_tail(&cells, observed);
        prop_assert!(tail.p > 0.0 && is_probability(tail.p), "{:?}", tail);
        prop_assert!(tail.mean.is_finite() && tail.variance.is_finite() && tail.variance >= 0.0);
        let phi = if phi.is_finite() { phi.clamp(0.0, 1e12) } else { 1.0 };
        prop_assert!(is_probability(normal_tail(observed, tail.mean, tail.variance, phi)));
        let q = benjamini_hochberg(&p);
        prop_assert!(q.iter().copied().all(is_probability));
    }

    #[test]
    fn agreements_are_sound(
        table in vec(vec(count(), 3), 3), rows in vec((vec(0_u64..9, 3), count()), 0..5),
        level in level(),
    ) {
        prop_assert!(sound_kappa(&cohen(&table, level)), "{:?}", cohen(&table, level));
        let rated: Vec<Rated> =
            rows.into_iter().map(|(votes, subjects)| Rated { votes, subjects }).collect();
        prop_assert!(sound_kappa(&fleiss(&rated, level)), "{:?}", fleiss(&rated, level));
    }

    #[test]
    fn resampled_intervals_are_sound(
        drawn in vec(prop::option::of(amount()), 0..30), value in prop::option::of(amount()),
        clusters in count(), level in level(),
    ) {
        let of = Resampled { value, n: 1.0, events: 0, clusters };
        let plain = expanded_percentile(Resampled { clusters: u64::MAX, ..of }, &drawn, level);
        let wide = expanded_percentile(of, &drawn, level);
        prop_assert!(sound(&plain) && sound(&wide), "{:?} {:?}", plain, wide);
        prop_assert!(wide.low <= plain.low && plain.high <= wide.high, "{:?} {:?}", plain, wide);
    }
}

proptest! {
    // Quantiles of the beta distribution at counts of 10^12 take their time.
    #![proptest_config(ProptestConfig::with_cases(30))]

    #[test]
    fn shrunken_groups_are_sound(
        rows in vec((count(), count(), size()), 0..6), mean in size(), level in level(),
    ) {
        let shares: Vec<Share> = rows.iter().map(|r| Share::whole(r.0, r.1)).collect();
        let fit = beta_binomial(&shares, level);
        prop_assert!(fit.shares.iter().all(sound), "{:?}", fit);
        prop_assert!(fit.log_likelihood.is_finite() && is_probability(fit.correlation));
        let groups: Vec<Observed> =
            rows.iter().map(|r| Observed { events: r.0, expected: r.2 }).collect();
        for prior in [PriorMean::Fitted, PriorMean::Known(mean)] {
            let fit = gamma_poisson(&groups, prior, level);
            prop_assert!(fit.ratios.iter().all(sound), "{:?}", fit);
            prop_assert!(fit.log_likelihood.is_finite(), "{:?}", fit);
        }
    }
}
