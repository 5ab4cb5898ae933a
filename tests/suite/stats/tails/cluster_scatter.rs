//! The scatter of clusters, put together from sums, against the plain sum over clusters.

use motetrail::stats::cluster_scatter::{ScatterCell, ScatterPair, cluster_scatter};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::stats::cases::near;

const CELLS: usize = 4;

/// Items of one cluster by cell: all, marked.
type Cluster = [(u64, u64); CELLS];

fn totals(clusters: &[Cluster]) -> [(f64, f64); CELLS] {
    let mut totals = [(0.0, 0.0); CELLS];
    for cluster in clusters {
        for (total, own) in totals.iter_mut().zip(cluster) {
            *total = (total.0 + own.0 as f64, total.1 + own.1 as f64);
        }
    }
    totals
}

/// The sums that are handed on.
fn sums(clusters: &[Cluster]) -> (f64, Vec<ScatterCell>, Vec<ScatterPair>) {
    let totals = totals(clusters);
    let marked = |cluster: &Cluster| cluster.iter().map(|own| own.1 as f64).sum::<f64>();
    let squares = clusters.iter().map(|cluster| marked(cluster).powi(2)).sum();
    let cell = |at: usize| ScatterCell {
        total: totals[at].0,
        marked: totals[at].1,
        crossed: clusters.iter().map(|c| marked(c) * c[at].0 as f64).sum(),
    };
    let pair = |a: usize, b: usize| ScatterPair {
        cells: [a, b],
        product: clusters.iter().map(|c| (c[a].0 * c[b].0) as f64).sum(),
    };
    let pairs = (0..CELLS).flat_map(|a| (a..CELLS).map(move |b| pair(a, b))).collect();
    (squares, (0..CELLS).map(cell).collect(), pairs)
}

/// (O - E) squared and the hypergeometric variance of every cluster, one by one.
fn plain(clusters: &[Cluster]) -> (f64, f64) {
    let totals = totals(clusters);
    let (mut squares, mut variance) = (0.0, 0.0);
    for cluster in clusters {
        let mut gap = 0.0;
        for (own, (total, marked)) in cluster.iter().zip(totals) {
            if total > 0.0 {
                let (n, p) = (own.0 as f64, marked / total);
                gap += own.1 as f64 - n * p;
                if total > 1.0 {
                    variance += n * p * (1.0 - p) * (total - n) / (total - 1.0);
                }
            }
        }
        squares += gap * gap;
    }
    (squares, variance)
}

fn cluster() -> impl Strategy<Value = Cluster> {
    let own = (0_u64..9, 0_u64..9).prop_map(|(n, marked)| (n, marked.min(n)));
    [own.clone(), own.clone(), own.clone(), own].prop_map(|cells| cells)
}

proptest! {
    #[test]
    fn sums_give_the_scatter_of_every_cluster(clusters in vec(cluster(), 1..12)) {
        let (squares, cells, pairs) = sums(&clusters);
        let got = cluster_scatter(squares, &cells, &pairs);
        let (want, variance) = plain(&clusters);
        near(got.squares, want, 1e-8, 1e-9, "squares");
        near(got.variance, variance, 1e-8, 1e-9, "variance");
        prop_assert!(got.phi >= 1.0 && got.phi.is_finite());
    }

    /// Cells in another order, and with an empty one, are the same cells.
    #[test]
    fn labels_and_empty_cells_change_nothing(clusters in vec(cluster(), 1..12)) {
        let (squares, mut cells, mut pairs) = sums(&clusters);
        let before = cluster_scatter(squares, &cells, &pairs);
        cells.reverse();
        cells.push(ScatterCell::default());
        for pair in &mut pairs {
            pair.cells = pair.cells.map(|at| CELLS - 1 - at);
        }
        let after = cluster_scatter(squares, &cells, &pairs);
        near(after.phi, before.phi, 1e-9, 1e-9, "phi");
    }

    #[test]
    fn anything_gives_a_factor_of_at_least_one(
        squares in crate::stats::extremes::amount(), total in crate::stats::extremes::amount(),
        marked in crate::stats::extremes::amount(), crossed in crate::stats::extremes::amount(),
        product in crate::stats::extremes::amount(), at in 0_usize..4,
    ) {
        let cells = [ScatterCell { total, marked, crossed }; 2];
        let got = cluster_scatter(squares, &cells, &[ScatterPair { cells: [0, at], product }]);
        prop_assert!(got.phi >= 1.0 && got.phi.is_finite());
        prop_assert!(got.squares.is_finite() && got.variance.is_finite());
    }
}

/// Both sums are 0 but for rounding, which must not be taken for scatter.
#[test]
fn one_cluster_cannot_scatter() {
    let mut cluster = [(0, 0), (6, 2), (5, 2), (7, 5)];
    for _ in 0..CELLS {
        let (squares, cells, pairs) = sums(&[cluster]);
        let got = cluster_scatter(squares, &cells, &pairs);
        assert_eq!((got.phi, got.variance), (1.0, 0.0), "{cluster:?}");
        cluster.rotate_left(1);
    }
}

/// Whole clusters of one mind: five items each, all marked or none. Their scatter is nearly five times
/// that of items on their own.
#[test]
fn clusters_of_one_mind_scatter_by_their_size() {
    let clusters: Vec<Cluster> =
        (0..400).map(|at| [(5, if at % 2 == 0 { 5 } else { 0 }), (0, 0), (0, 0), (0, 0)]).collect();
    let (squares, cells, pairs) = sums(&clusters);
    near(cluster_scatter(squares, &cells, &pairs).phi, 5.0, 0.05, 0.0, "phi");
}
