use crate::stats::extremes::{count, level, sound};
use crate::stats::reference::close;
use motetrail::stats::clustered::{ClusterSums, Resemblance};
use motetrail::stats::estimate::Warning;
use motetrail::stats::proportion::clopper_pearson;
use motetrail::stats::share_change::{LEAST_P, Sample, share_change};
use proptest::prelude::*;

/// A sample whose units are independent.
fn plain(events: u64, n: u64) -> Sample {
    Sample { n, events, clusters: n, resemblance: Resemblance::NONE }
}

fn sums(rows: &[(u64, u64)]) -> ClusterSums {
    let mut sums = ClusterSums::default();
    rows.iter().for_each(|&(n, y)| sums.add(n, y));
    sums
}

/// Newcombe's hybrid, worked out from the exact limits of both shares.
#[test]
fn limits_of_both_shares_are_put_together_as_a_hybrid() {
    for (a, n, b, m) in [(56, 70, 48, 80), (9, 10, 3, 10), (10, 10, 0, 20), (0, 15, 0, 10)] {
        let got = share_change(&plain(a, n), &plain(b, m), 0.95).difference;
        let [p, q] = [(a, n), (b, m)].map(|(y, n)| clopper_pearson(y as f64, n as f64, 0.95));
        let below = |e: &motetrail::stats::Estimate| e.value.unwrap() - e.low.unwrap();
        let above = |e: &motetrail::stats::Estimate| e.high.unwrap() - e.value.unwrap();
        let value = p.value.unwrap() - q.value.unwrap();
        let low = value - (below(&p).powi(2) + above(&q).powi(2)).sqrt();
        let high = value + (above(&p).powi(2) + below(&q).powi(2)).sqrt();
        close(got.value.unwrap(), value, 0.0, 1e-12);
        close(got.low.unwrap(), low.max(-1.0), 0.0, 1e-12);
        close(got.high.unwrap(), high.min(1.0), 0.0, 1e-12);
    }
}

/// The second formulation: levels tried one after the other until the interval first holds 0.
#[test]
fn p_is_found_by_trying_levels_one_after_the_other() {
    for (a, n, b, m) in [(10_u64, 20_u64, 5_u64, 20_u64), (88, 100, 81, 110), (3, 400, 12, 390)] {
        let holds_zero = |p: f64| {
            let at = share_change(&plain(a, n), &plain(b, m), 1.0 - p).difference;
            at.low.unwrap() <= 0.0 && at.high.unwrap() >= 0.0
        };
        let steps = 2_000;
        let tried = (1..steps).map(|step| f64::from(step) / f64::from(steps));
        let last = tried.take_while(|p| holds_zero(*p)).last().unwrap();
        close(share_change(&plain(a, n), &plain(b, m), 0.95).p, last, 0.0, 1e-3);
    }
}

/// A share of 0.02 in thirty work orders: a list must be able to find something.
#[test]
fn a_rare_outcome_in_few_clusters_leaves_room_to_find_a_change() {
    let mut rows = vec![(6, 6); 28];
    rows.extend([(6, 4); 2]);
    let sample = Sample::of(&sums(&rows));
    let got = share_change(&sample, &sample, 0.95).difference;
    let width = got.high.unwrap() - got.low.unwrap();
    assert!((0.05..0.3).contains(&width), "{width}");
    let worse = share_change(&Sample::of(&sums(&[(6, 4); 30])), &sample, 0.95);
    assert!(worse.p < 0.01, "{worse:?}");
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
