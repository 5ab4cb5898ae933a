use crate::stats::reference::close;
use motetrail::stats::Rests;
use motetrail::stats::beta_binomial::{Share, beta_binomial};
use motetrail::stats::clustered::{ClusterSums, Resemblance, resembling_share};
use motetrail::stats::ranked::ranked;
use proptest::prelude::*;

fn sums(rows: &[(u64, u64)]) -> ClusterSums {
    let mut sums = ClusterSums::default();
    rows.iter().for_each(|&(n, y)| sums.add(n, y));
    sums
}

/// Forty clusters of five in each group, most with the share that its number says.
fn groups() -> Vec<ClusterSums> {
    let one =
        |events: u64| sums(&[vec![(5, events); 30], vec![(5, 5); 5], vec![(5, 2); 5]].concat());
    vec![one(4), one(4), one(5), one(1), one(4), one(3)]
}

#[test]
fn limits_are_the_outermost_of_both_kinds() {
    let groups = groups();
    let found = ranked(&groups, &Rests::among(&groups), 0.95);
    let effective: Vec<Share> = found.iter().map(|group| group.effective).collect();
    let fit = beta_binomial(&effective, 0.95);
    let alike = Resemblance::among(&groups);
    for (at, group) in found.iter().enumerate() {
        let own = resembling_share(
            (groups[at].events, groups[at].n),
            groups[at].clusters,
            alike[at],
            0.95,
        );
        assert_eq!(group.share.value, fit.shares[at].value);
        let (low, high) = (own.low.unwrap(), own.high.unwrap());
        assert_eq!(group.share.low, Some(low.min(fit.shares[at].low.unwrap())));
        assert_eq!(group.share.high, Some(high.max(fit.shares[at].high.unwrap())));
        close(group.effective.n, groups[at].n as f64 / alike[at].deff.max(1.0), 1e-12, 0.0);
        assert_eq!(group.share.events, groups[at].events);
    }
    // The group of one in five stands apart: drawn to the others, but its own share is inside its limits.
    let apart = &found[3];
    let own = groups[3].events as f64 / groups[3].n as f64;
    assert!(apart.share.value.unwrap() > own + 0.01);
    assert!(apart.share.low.unwrap() < own && own < apart.share.high.unwrap());
    let first = found.iter().map(|group| group.standing.unwrap().expected_rank);
    assert!(
        first
            .clone()
            .skip(4)
            .chain(first.clone().take(3))
            .all(|rank| rank > apart.standing.unwrap().expected_rank)
    );
}

#[test]
fn groups_that_are_alike_have_no_order() {
    let alike = vec![sums(&[(5, 4); 30]); 5];
    let found = ranked(&alike, &Rests::among(&alike), 0.95);
    assert!(found.iter().all(|group| group.standing.is_none()));
    assert!(found.iter().all(|group| group.share.low < group.share.value));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_order_of_groups_changes_nothing(
        rows in prop::collection::vec(prop::collection::vec((1_u64..9, 0_u64..9), 1..30), 2..7),
    ) {
        let groups: Vec<ClusterSums> = rows.iter().map(|rows| sums(rows)).collect();
        let back: Vec<ClusterSums> = groups.iter().rev().copied().collect();
        let (there, mut again) = (ranked(&groups, &Rests::among(&groups), 0.95), ranked(&back, &Rests::among(&back), 0.95));
        again.reverse();
        for (a, b) in there.iter().zip(&again) {
            prop_assert!((a.share.value.unwrap() - b.share.value.unwrap()).abs() < 1e-6);
            prop_assert!(a.share.low <= a.share.value && a.share.value <= a.share.high);
        }
    }
}
