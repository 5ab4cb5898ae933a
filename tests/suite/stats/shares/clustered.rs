use crate::stats::reference::{Table, close, close_to, expected};
use motetrail::stats::clustered::{
    ClusterSums, design_effect, effective_wilson, widened_design_effect,
};
use motetrail::stats::estimate::Warning;
use motetrail::stats::proportion::wilson;
use proptest::prelude::*;
use std::collections::BTreeMap;

fn groups(file: &str) -> BTreeMap<String, ClusterSums> {
    let table = Table::read("01_binomial", file);
    let (n, y) = (table.numbers("n"), table.numbers("y"));
    let mut groups = BTreeMap::new();
    for (i, name) in table.text("group").into_iter().enumerate() {
        let sums: &mut ClusterSums = groups.entry(name).or_default();
        sums.add(n[i] as u64, y[i] as u64);
    }
    groups
}

fn check(id: &str) {
    let want = expected("01_binomial", id);
    for (name, sums) in groups(&format!("{id}.csv")) {
        let want = &want["by_group"][&name];
        let effect = design_effect(&sums);
        close_to(effect.deff, &want["deff"], 1e-9, 1e-12);
        assert_eq!(Some(effect.clusters), want["clusters"].as_u64());
        let n = sums.n as f64;
        close_to(n / effect.deff, &want["n_eff"], 1e-9, 1e-12);
        let raw = wilson(sums.events as f64 / effect.deff, n / effect.deff, 0.95);
        close_to(raw.low, &want["wilson_on_n_eff_z"][0], 1e-9, 1e-12);
        close_to(raw.high, &want["wilson_on_n_eff_z"][1], 1e-9, 1e-12);
        let (got, deff) = (effective_wilson(&sums, 0.95), widened_design_effect(&sums, 0.95));
        assert!(deff >= effect.deff && deff >= 1.0);
        let widened = wilson(sums.events as f64 / deff, n / deff, 0.95);
        assert_eq!((got.low, got.high), (widened.low, widened.high));
        assert_eq!(got.warnings.contains(&Warning::FewClusters), effect.clusters < 10);
    }
}

#[test]
fn design_effect_matches_r_survey_on_moore_and_tsiatis_1991() {
    check("clustered_lirat");
}

#[test]
fn design_effect_matches_r_survey_on_weil_1970() {
    check("clustered_weil_rats");
}

#[test]
fn design_effect_matches_the_perfect_and_the_negative_correlation() {
    for (id, file) in [("icc_perfect", "icc_perfect.csv"), ("icc_negative", "icc_negative.csv")] {
        let table = Table::read("15_clustering_icc", file);
        let (n, y) = (table.numbers("n"), table.numbers("y"));
        let mut sums = ClusterSums::default();
        n.iter().zip(&y).for_each(|(&n, &y)| sums.add(n as u64, y as u64));
        let want = &expected("15_clustering_icc", id)["deff_ratio_estimator"];
        close_to(design_effect(&sums).deff, want, 1e-9, 1e-12);
    }
}

#[test]
fn one_cluster_and_all_or_no_events_have_no_design_effect() {
    let mut sums = ClusterSums::default();
    sums.add(10, 3);
    assert_eq!(design_effect(&sums).deff, 1.0);
    assert_eq!(effective_wilson(&sums, 0.95).warnings, [Warning::FewClusters]);
    let mut none = ClusterSums::default();
    none.add(10, 0);
    none.add(90, 0);
    assert_eq!(design_effect(&none).deff, 1.0);
    assert_eq!(effective_wilson(&ClusterSums::default(), 0.95).warnings, [Warning::NoData]);
}

/// Clusters of one size have as many effective clusters as there are, so the widening is the squared
/// ratio of tabulated quantiles: Student's t at 1, 7, 30 and 120 degrees of freedom, Fisher & Yates
/// (1963), Statistical Tables, table III, to the digits printed there; normal 1.959964.
#[test]
fn widening_of_equal_clusters_is_students_t_over_the_normal_quantile() {
    for (clusters, t) in [(2_u64, 12.706), (8, 2.365), (31, 2.042), (121, 1.980)] {
        let mut sums = ClusterSums::default();
        (0..clusters).for_each(|cluster| sums.add(10, if cluster % 2 == 0 { 1 } else { 9 }));
        let deff = design_effect(&sums).deff;
        assert!(deff > 1.0);
        let got = (widened_design_effect(&sums, 0.95) / deff).sqrt() * 1.959964;
        close(got, t, 0.0, 6e-4);
    }
}

/// One cluster of 90 among ten of 1 has 100^2 / 8110 = 1.23 effective clusters: one degree of freedom.
#[test]
fn one_large_cluster_counts_as_hardly_more_than_one() {
    let mut sums = ClusterSums::default();
    sums.add(90, 60);
    (0..10).for_each(|cluster| sums.add(1, cluster % 2));
    let want = design_effect(&sums).deff * (12.7062_f64 / 1.959964).powi(2);
    assert!(want > 1.0);
    close(widened_design_effect(&sums, 0.95), want, 1e-5, 0.0);
}

#[test]
fn a_million_million_units_in_alike_clusters_keep_a_small_design_effect() {
    let mut sums = ClusterSums::default();
    for y in [499_999_900_000_u64, 500_000_000_000, 500_000_100_000] {
        sums.add(1_000_000_000_000, y);
    }
    // (1e5^2 * 2 / 2 * 3/2 ...) by hand: m/(m-1) sum (y-pn)^2 / (N p q) = 1.5 * 2e10 / 7.5e11.
    close(design_effect(&sums).deff, 0.04, 1e-9, 0.0);
}

fn tally(rows: &[(u64, u64)]) -> ClusterSums {
    let mut sums = ClusterSums::default();
    rows.iter().for_each(|&(n, y)| sums.add(n, y));
    sums
}

proptest! {
    #[test]
    fn any_split_gives_the_same_sums(
        rows in prop::collection::vec((0_u64..1000, 0_u64..1000), 0..40), cut in 0_usize..40,
    ) {
        let (left, right) = rows.split_at(cut.min(rows.len()));
        prop_assert_eq!(tally(&rows), tally(left).merge(tally(right)));
        prop_assert_eq!(tally(&rows), tally(right).merge(tally(left)));
        prop_assert_eq!(tally(&rows), ClusterSums::default().merge(tally(&rows)));
        prop_assert_eq!(tally(&rows), tally(&rows).merge(ClusterSums::default()));
    }

    #[test]
    fn clustering_never_narrows_the_interval(
        rows in prop::collection::vec((0_u64..1000, 0_u64..1000), 1..40),
    ) {
        let sums = tally(&rows);
        let plain = wilson(sums.events as f64, sums.n as f64, 0.95);
        let got = effective_wilson(&sums, 0.95);
        prop_assert!(got.low <= plain.low && got.high >= plain.high);
    }
}
