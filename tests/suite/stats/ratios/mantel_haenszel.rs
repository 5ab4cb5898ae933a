use crate::stats::reference::{Table, close, close_to, expected};
use motetrail::stats::estimate::Warning;
use motetrail::stats::mantel_haenszel::mantel_haenszel;
use motetrail::stats::person_time::PersonTime;
use motetrail::stats::rate::rate_ratio;
use proptest::prelude::*;

pub fn strata(group: &str, file: &str) -> Vec<PersonTime> {
    let t = Table::read(group, file);
    let (x1, t1, x0, t0) = (t.numbers("x1"), t.numbers("t1"), t.numbers("x0"), t.numbers("t0"));
    let row = |i: usize| PersonTime { d1: x1[i] as u64, t1: t1[i], d0: x0[i] as u64, t0: t0[i] };
    (0..x1.len()).map(row).collect()
}

fn check(id: &str) {
    let want = expected("02_poisson_rates", id);
    let got = mantel_haenszel(&strata("02_poisson_rates", &format!("{id}.csv")), 0.95);
    close_to(got.ratio.value, &want["mh_rate_ratio"], 1e-8, 1e-12);
    close_to(got.ratio.low, &want["lower"], 1e-8, 1e-12);
    close_to(got.ratio.high, &want["upper"], 1e-8, 1e-12);
    close_to(got.test.statistic, &want["mh_chi2_no_cc"], 1e-8, 1e-12);
    close_to(got.test.p, &want["mh_chi2_p"], 1e-8, 1e-12);
    let homogeneity = got.homogeneity.unwrap();
    close_to(homogeneity.statistic, &want["homogeneity_score_chi2"], 1e-8, 1e-12);
    close_to(homogeneity.p, &want["homogeneity_score_p"], 1e-8, 1e-12);
    assert_eq!(Some(homogeneity.df), want["homogeneity_df"].as_u64());
}

#[test]
fn mantel_haenszel_matches_the_british_doctors_of_breslow_and_day_1987() {
    check("mh_doctors");
}

#[test]
fn mantel_haenszel_matches_the_ships_of_mccullagh_and_nelder_1989() {
    check("mh_ships");
}

#[test]
fn mantel_haenszel_drops_strata_that_say_nothing() {
    check("mh_edge_strata");
}

#[test]
fn one_sided_limit_of_one_stratum_is_the_exact_conditional_one() {
    for (d1, d0) in [(5, 0), (0, 5)] {
        let strata = [PersonTime { d1, t1: 120.0, d0, t0: 80.0 }];
        let got = mantel_haenszel(&strata, 0.95).ratio;
        // The mid-P limit at twice the error.
        let want = rate_ratio(d1, 120.0, d0, 80.0, 0.975).ratio;
        for (got, want) in [(got.low, want.low), (got.high, want.high)] {
            assert_eq!(got.is_some(), want.is_some());
            close(got.unwrap_or(0.0), want.unwrap_or(0.0), 1e-10, 0.0);
        }
        assert!(got.warnings.contains(&Warning::OneSided));
        assert_eq!(got.value, None);
    }
}

#[test]
fn one_sided_limit_solves_the_product_of_binomials() {
    let strata = [
        PersonTime { d1: 2, t1: 10.0, d0: 0, t0: 30.0 },
        PersonTime { d1: 1, t1: 50.0, d0: 0, t0: 20.0 },
    ];
    let r = mantel_haenszel(&strata, 0.95).ratio.low.unwrap();
    let chance = (r * 10.0 / (r * 10.0 + 30.0)).powi(2) * (r * 50.0 / (r * 50.0 + 20.0));
    close(chance, 0.025, 1e-10, 0.0);
}

#[test]
fn no_stratum_says_so() {
    let got = mantel_haenszel(&[PersonTime { d1: 4, t1: 10.0, d0: 0, t0: 0.0 }], 0.95);
    assert_eq!(got.ratio.warnings, [Warning::NoData]);
    assert_eq!((got.test.p, got.homogeneity), (1.0, None));
}

proptest! {
    #[test]
    fn order_empty_strata_and_swapped_sides_agree(
        rows in prop::collection::vec((0_u64..30, 1.0..1e5_f64, 0_u64..30, 1.0..1e5_f64), 1..10),
    ) {
        let stratum = |&(d1, t1, d0, t0): &(u64, f64, u64, f64)| PersonTime { d1, t1, d0, t0 };
        let strata: Vec<_> = rows.iter().map(stratum).collect();
        let mut more = strata.clone();
        more.push(PersonTime { d1: 0, t1: 9.0, d0: 0, t0: 2.0 });
        more.push(PersonTime { d1: 3, t1: 9.0, d0: 0, t0: 0.0 });
        prop_assert_eq!(mantel_haenszel(&strata, 0.95), mantel_haenszel(&more, 0.95));
        let swap = |s: &PersonTime| PersonTime { d1: s.d0, t1: s.t0, d0: s.d1, t0: s.t1 };
        let swapped: Vec<_> = strata.iter().rev().map(swap).collect();
        let (a, b) = (mantel_haenszel(&strata, 0.95), mantel_haenszel(&swapped, 0.95));
        if let (Some(low), Some(high)) = (a.ratio.low, b.ratio.high) {
            prop_assert!(low == 0.0 || (low * high - 1.0).abs() < 1e-9);
        }
        prop_assert!((a.test.p - b.test.p).abs() < 1e-9);
    }
}
