use crate::stats::reference::{Table, close, close_to, expected};
use motetrail::stats::clustered::{
    ClusterSums, MOST_USUAL, PRIOR_DF, PRIOR_UNITS, Resemblance, USUAL_CORRELATION, design_effect,
    effective_share, resembling_share,
};
use motetrail::stats::estimate::Warning;
use motetrail::stats::proportion::{clopper_pearson, wilson};
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
        let (got, by) = (effective_share(&sums, 0.95), Resemblance::of(&sums).divisor(0.95));
        assert!(by >= 1.0);
        let widened = clopper_pearson(sums.events as f64 / by, n / by, 0.95);
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
    assert_eq!(effective_share(&sums, 0.95).warnings, [Warning::FewClusters]);
    let mut none = ClusterSums::default();
    none.add(10, 0);
    none.add(90, 0);
    assert_eq!(design_effect(&none).deff, 1.0);
    assert_eq!(effective_share(&ClusterSums::default(), 0.95).warnings, [Warning::NoData]);
}

/// The limits that R's `svyciprop(method = "beta")` has: Clopper-Pearson on its effective sizes.
#[test]
fn exact_limits_on_effective_sizes_match_korn_and_graubard() {
    let mut cases = 0;
    for id in ["kg_apiclus1_target", "kg_apiclus1_ell0", "kg_near_one", "kg_strata_sites"] {
        let want = expected("16_survey_proportions", id);
        let number = |name: &str| want[name].as_f64().unwrap();
        let n = number("n_effective_df");
        let got = clopper_pearson(number("p") * n, n, 0.95);
        close(got.low.unwrap(), want["kg"][0].as_f64().unwrap(), 1e-7, 1e-10);
        close(got.high.unwrap(), want["kg"][1].as_f64().unwrap(), 1e-7, 1e-10);
        cases += 1;
    }
    assert_eq!(cases, 4);
}

/// Thirty clusters of ten, five dirty units in each of four of them; by hand.
#[test]
fn the_variance_is_drawn_towards_a_usual_one() {
    let mut sums = ClusterSums::default();
    (0..26).for_each(|_| sums.add(10, 0));
    (0..4).for_each(|_| sums.add(10, 5));
    // Clusters of ten: 1 + 9 x 0.3 = 3.7.
    let usual = 1.0 + 9.0 * USUAL_CORRELATION;
    let want = (20.0 * design_effect(&sums).deff + PRIOR_UNITS * usual) / (20.0 + PRIOR_UNITS);
    let got = Resemblance::of(&sums);
    close(got.deff, want, 1e-12, 0.0);
    // 20^2 / (4 x 5^2) = 4 clusters carry the rarer outcome.
    close(got.df, 4.0 + PRIOR_DF, 1e-12, 0.0);
}

#[test]
fn nothing_dirty_leaves_the_usual_variance_and_large_clusters_no_more_than_the_most() {
    let alike = |n: u64| {
        let mut sums = ClusterSums::default();
        (0..12).for_each(|_| sums.add(n, 0));
        Resemblance::of(&sums)
    };
    assert_eq!(alike(5), Resemblance { deff: 1.0 + 4.0 * USUAL_CORRELATION, df: PRIOR_DF });
    assert_eq!(alike(1), Resemblance { deff: 1.0, df: PRIOR_DF });
    assert_eq!(alike(500), Resemblance { deff: MOST_USUAL, df: PRIOR_DF });
}

/// A group without the rarer outcome takes the correlation of the others.
#[test]
fn a_clean_group_takes_the_scatter_of_its_neighbours() {
    let (mut clean, mut lumpy, mut even) =
        (ClusterSums::default(), ClusterSums::default(), ClusterSums::default());
    for cluster in 0..200 {
        clean.add(8, 0);
        lumpy.add(8, if cluster % 4 == 0 { 8 } else { 0 });
        even.add(8, 2);
    }
    let (beside_lumpy, beside_even) =
        (Resemblance::among(&[clean, lumpy])[0], Resemblance::among(&[clean, even])[0]);
    close(beside_lumpy.deff, 8.0, 0.0, 0.1);
    close(beside_even.deff, 1.0, 0.0, 0.1);
    // Alone it has nothing to take but the usual.
    assert_eq!(Resemblance::among(&[clean]), [Resemblance::of(&clean)]);
    let limit = |of: Resemblance| resembling_share((0, 1600), 200, of, 0.95).high.unwrap();
    assert!(limit(beside_lumpy) > 5.0 * limit(beside_even));
}

/// Widening: Student's t at 8, 30 and 120 degrees of freedom, Fisher & Yates (1963), Statistical Tables,
/// table III, to the digits printed there; normal 1.959964.
#[test]
fn widening_is_students_t_over_the_normal_quantile() {
    for (df, t) in [(8.0, 2.306), (30.0, 2.042), (120.0, 1.980)] {
        let got = Resemblance { deff: 4.0, df }.divisor(0.95);
        close((got / 4.0).sqrt() * 1.959964, t, 0.0, 6e-4);
    }
    assert_eq!(Resemblance { deff: 4.0, df: f64::INFINITY }.divisor(0.95), 4.0);
    assert_eq!(Resemblance::NONE.divisor(0.95), 1.0);
    assert_eq!(Resemblance { deff: 0.1, df: 1e9 }.divisor(0.95), 1.0);
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
        let plain = clopper_pearson(sums.events as f64, sums.n as f64, 0.95);
        let got = effective_share(&sums, 0.95);
        prop_assert!(got.low <= plain.low && got.high >= plain.high);
    }
}
