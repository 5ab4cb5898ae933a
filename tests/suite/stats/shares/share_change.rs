use crate::stats::extremes::{count, level, sound};
use crate::stats::reference::{Table, close};
use motetrail::stats::clustered::{ClusterSums, design_effect};
use motetrail::stats::difference::newcombe;
use motetrail::stats::estimate::Warning;
use motetrail::stats::share_change::{LEAST_P, Sample, share_change};
use proptest::prelude::*;

/// A sample whose units are independent.
fn plain(events: u64, n: u64) -> Sample {
    Sample { n, events, clusters: n, deff: 1.0, df: None }
}

fn sums(rows: &[(u64, u64)]) -> ClusterSums {
    let mut sums = ClusterSums::default();
    rows.iter().for_each(|&(n, y)| sums.add(n, y));
    sums
}

#[test]
fn independent_units_give_newcombe_1998_table_2_method_10() {
    let t = Table::read("01_binomial", "diff_newcombe_shared.csv");
    let column = |name: &str| t.numbers(name);
    let (x1, n1, x2, n2) = (column("x1"), column("n1"), column("x2"), column("n2"));
    assert!(!x1.is_empty());
    for i in 0..x1.len() {
        let [now, before] =
            [(x1[i], n1[i]), (x2[i], n2[i])].map(|(y, n)| plain(y as u64, n as u64));
        let got = share_change(&now, &before, column("conf")[i]).difference;
        close(got.value.unwrap(), column("diff")[i], 0.0, 1e-9);
        close(got.low.unwrap(), column("newcombe_lower")[i], 0.0, 1e-9);
        close(got.high.unwrap(), column("newcombe_upper")[i], 0.0, 1e-9);
    }
}

/// The second formulation: levels tried one after the other until the interval first holds 0.
#[test]
fn p_is_found_by_trying_levels_one_after_the_other() {
    for (a, n, b, m) in [(10_u64, 20_u64, 5_u64, 20_u64), (88, 100, 81, 110), (3, 400, 12, 390)] {
        let holds_zero = |p: f64| {
            let at = newcombe(a as f64, n as f64, b as f64, m as f64, 1.0 - p);
            at.low.unwrap() <= 0.0 && at.high.unwrap() >= 0.0
        };
        let steps = 200_000;
        let tried = (1..steps).map(|step| f64::from(step) / f64::from(steps));
        let last = tried.take_while(|p| holds_zero(*p)).last().unwrap();
        close(share_change(&plain(a, n), &plain(b, m), 0.95).p, last, 0.0, 1e-5);
    }
}

/// Thirty work orders of ten looks; by hand. Ten fail in one order and ten in another: by failing looks
/// there are two effective orders, so one degree of freedom, whatever the thirty say.
#[test]
fn a_rare_outcome_in_two_clusters_has_one_degree_of_freedom() {
    let own = |failing: [u64; 2]| {
        let mut rows = vec![(10, 10); 28];
        rows.extend(failing.map(|failing| (10, 10 - failing)));
        Sample::of(&sums(&rows))
    };
    let even = own([10, 10]);
    close(even.df.unwrap(), 1.0, 1e-12, 0.0);
    // (2 + 8)^2 / (2^2 + 8^2) = 100 / 68 effective orders: less than one degree counts as one.
    close(own([2, 8]).df.unwrap(), 1.0, 1e-12, 0.0);
    // Spread over five orders alike: four.
    let mut rows = vec![(10, 10); 25];
    rows.extend([(10, 6); 5]);
    close(Sample::of(&sums(&rows)).df.unwrap(), 4.0, 1e-12, 0.0);
    assert_eq!(
        even.deff,
        design_effect(&sums(&[vec![(10, 10); 28], vec![(10, 0); 2]].concat())).deff
    );
}

#[test]
fn without_units_on_a_side_nothing_is_told() {
    let got = share_change(&plain(3, 5), &Sample::of(&ClusterSums::default()), 0.95);
    assert_eq!((got.difference.value, got.p), (None, 1.0));
    assert_eq!((got.difference.low, got.difference.high), (Some(-1.0), Some(1.0)));
    assert!(got.difference.warnings.contains(&Warning::NoData));
}

#[test]
fn few_clusters_on_either_side_are_told() {
    let (few, many) = (Sample::of(&sums(&[(9, 4); 9])), Sample::of(&sums(&[(9, 5); 10])));
    for (now, before) in [(few, many), (many, few)] {
        let got = share_change(&now, &before, 0.95).difference;
        assert_eq!(got.warnings, [Warning::FewClusters]);
    }
    assert_eq!(share_change(&many, &many, 0.95).difference.warnings, []);
}

/// A supplier's looks are fewer than those of its clusters: it takes their scatter, not their counts.
#[test]
fn a_sample_beside_clusters_takes_their_scatter_alone() {
    let clusters = sums(&[(10, 9), (12, 3), (8, 8), (11, 2), (9, 9)]);
    let (own, all) = (Sample::clustered_by(20, 12, &clusters), Sample::of(&clusters));
    assert_eq!((own.n, own.events), (20, 12));
    assert_eq!((own.deff, own.df, own.clusters), (all.deff, all.df, all.clusters));
    assert!(own.deff > 1.0);
}

fn rows() -> impl Strategy<Value = Vec<(u64, u64)>> {
    prop::collection::vec((0_u64..30, 0_u64..30), 1..40)
}

proptest! {
    #[test]
    fn p_agrees_with_the_interval(now in rows(), before in rows()) {
        let (now, before) = (Sample::of(&sums(&now)), Sample::of(&sums(&before)));
        let got = share_change(&now, &before, 0.95);
        let leaves_out = got.difference.low.unwrap() > 0.0 || got.difference.high.unwrap() < 0.0;
        prop_assert_eq!(leaves_out, got.p < 0.05, "{:?}", got);
        prop_assert!((LEAST_P..=1.0).contains(&got.p));
    }

    #[test]
    fn swapping_quarters_turns_the_sign_and_keeps_p(now in rows(), before in rows()) {
        let (now, before) = (Sample::of(&sums(&now)), Sample::of(&sums(&before)));
        let (ab, ba) = (share_change(&now, &before, 0.95), share_change(&before, &now, 0.95));
        prop_assert!((ab.difference.low.unwrap() + ba.difference.high.unwrap()).abs() < 1e-12);
        prop_assert!((ab.p - ba.p).abs() < 1e-9 * ab.p.max(1e-3));
    }

    #[test]
    fn failing_instead_of_passing_gives_the_same_p(now in rows(), before in rows()) {
        let turned = |rows: &[(u64, u64)]| -> Vec<(u64, u64)> {
            rows.iter().map(|&(n, y)| (n, n - y.min(n))).collect()
        };
        let p = |now: &[(u64, u64)], before: &[(u64, u64)]| {
            share_change(&Sample::of(&sums(now)), &Sample::of(&sums(before)), 0.95).p
        };
        let (as_is, other) = (p(&now, &before), p(&turned(&now), &turned(&before)));
        prop_assert!((as_is - other).abs() < 1e-6 * as_is.max(1e-3), "{} {}", as_is, other);
    }

    #[test]
    fn any_split_of_the_clusters_gives_the_same_sample(all in rows(), cut in 0_usize..40) {
        let (left, right) = all.split_at(cut.min(all.len()));
        prop_assert_eq!(Sample::of(&sums(&all)), Sample::of(&sums(left).merge(sums(right))));
    }

    #[test]
    fn changes_of_shares_are_sound(
        now in prop::collection::vec((count(), count()), 0..6),
        before in prop::collection::vec((count(), count()), 0..6), level in level(),
    ) {
        let got = share_change(&Sample::of(&sums(&now)), &Sample::of(&sums(&before)), level);
        prop_assert!(sound(&got.difference), "{:?}", got);
        prop_assert!((0.0..=1.0).contains(&got.p));
    }
}
