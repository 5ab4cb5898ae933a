use crate::stats::cases::near;
use motetrail::stats::beta_geometric::{beta_geometric, heterogeneity};
use motetrail::stats::clustered_trials::{Cluster, beta_geometric_clustered, geometric_clustered};
use motetrail::stats::geometric::geometric;
use motetrail::stats::{ClusterSums, effective_share};

/// Twelve clusters of very different luck: in the odd ones units succeed early, in the even ones late.
fn lucky(times: u64) -> Vec<Cluster> {
    let of = |at: u64| match at % 2 {
        0 => (vec![times, times, 0, times], vec![0, times, 2 * times, times * (1 + at % 3)]),
        _ => (vec![(9 + at % 5) * times, times * (at % 4)], vec![0, times]),
    };
    (0..12).map(of).collect()
}

fn together(clusters: &[Cluster]) -> Cluster {
    let sum = |of: fn(&Cluster) -> &Vec<u64>| {
        (0..4).map(|at| clusters.iter().filter_map(|one| of(one).get(at)).sum()).collect()
    };
    (sum(|one| &one.0), sum(|one| &one.1))
}

#[test]
fn clusters_widen_limits_and_move_no_value() {
    let (events, censored) = together(&lucky(4));
    let plain = beta_geometric(&events, &censored, 0.95);
    let wide = beta_geometric_clustered(&lucky(4), 0.95);
    for (plain, wide) in [(&plain.mean, &wide.mean), (&plain.a, &wide.a), (&plain.b, &wide.b)] {
        assert_eq!(plain.value, wide.value);
        assert!(wide.low < plain.low, "{wide:?} {plain:?}");
        assert!(wide.high.is_none() || wide.high > plain.high, "{wide:?} {plain:?}");
    }
    assert_eq!(plain.scatter, 1.0);
    assert!(wide.scatter > 1.1, "{}", wide.scatter);
}

/// Copies of units that stand in the cluster of what they are copied from tell nothing new: limits and test stay.
#[test]
fn copies_inside_a_cluster_tell_nothing() {
    let [one, four] = [4, 16].map(|times| beta_geometric_clustered(&lucky(times), 0.95));
    for (one, four) in [(&one.mean, &four.mean), (&one.a, &four.a), (&one.b, &four.b)] {
        for (one, four) in [(one.value, four.value), (one.low, four.low), (one.high, four.high)] {
            match (one, four) {
                (Some(one), Some(four)) => near(four, one, 0.0, 1e-5, "limit"),
                _ => assert_eq!(one, four),
            }
        }
    }
    let statistic = [4, 16].map(|times| {
        let clusters = lucky(times);
        let fit = beta_geometric_clustered(&clusters, 0.95);
        heterogeneity(&geometric_clustered(&clusters, 0.95), &fit).statistic
    });
    near(statistic[1], statistic[0], 0.0, 1e-6, "statistic");
}

/// By hand: trials of a cluster are its units, successes its events. The first even cluster's seven units make 7 + 6 + 4 + 2
/// trials, three of them successes.
#[test]
fn a_common_chance_is_a_clustered_share_of_trials() {
    let clusters = lucky(1);
    let found = geometric_clustered(&clusters[..1], 0.95).chance;
    assert_eq!((found.n, found.events), (19.0, 3));
    let mut sums = ClusterSums::default();
    for (events, censored) in &clusters {
        let alone = geometric(events, censored, 0.95).chance;
        sums.add(alone.n as u64, alone.events);
    }
    let (found, want) = (geometric_clustered(&clusters, 0.95).chance, effective_share(&sums, 0.95));
    assert_eq!((found.value, found.low, found.high), (want.value, want.low, want.high));
}

#[test]
fn at_the_edge_the_mean_is_the_common_chance() {
    // Hazards that rise: chances that differ cannot make them.
    let clusters: Vec<Cluster> = (0..12).map(|at| (vec![1, 2 + at % 3, 6], vec![])).collect();
    let (fit, common) =
        (beta_geometric_clustered(&clusters, 0.95), geometric_clustered(&clusters, 0.95).chance);
    assert_eq!((fit.mean.low, fit.mean.high), (common.low, common.high));
    assert_eq!(fit.a.value, None);
    let nothing = beta_geometric_clustered(&[], 0.95);
    assert_eq!((nothing.mean.value, nothing.mean.n), (None, 0.0));
}
