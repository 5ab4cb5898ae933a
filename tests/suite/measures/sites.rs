//! 5.1 by site on the demo: ranks, the funnel, the trend's design effect.

use motetrail::measures::Flag;
use motetrail::measures::first_pass::{By, Quantity, Row};

use crate::review::demo::{demo, holds};

fn rows(by: By, quantity: Quantity) -> Vec<&'static Row> {
    demo().review.first_pass.rows_of(by, quantity).collect()
}

#[test]
fn sites_are_ranked_from_the_lowest_and_drawn_towards_the_mean() {
    let ranked = rows(By::Site, Quantity::SiteRanked);
    let own = rows(By::Site, Quantity::Clean);
    assert_eq!(ranked.len(), own.len());
    let ranks: Vec<i64> = ranked.iter().filter_map(|row| row.own.rank).collect();
    let firm = ranked.iter().filter(|row| row.is_firm()).count();
    assert!(firm >= 8, "{firm}");
    assert_eq!(ranks, (1..=firm as i64).collect::<Vec<_>>());
    let expected: Vec<f64> = ranked.iter().filter_map(|row| row.own.expected_rank).collect();
    assert!(expected[..firm].is_sorted());
    // All sites together: 1 + 2 + ... + n.
    let n = ranked.len() as f64;
    assert!((expected.iter().sum::<f64>() - n * (n + 1.0) / 2.0).abs() < 1e-9);
    let spread = |rows: &[&Row]| {
        let shares = || rows.iter().map(|row| row.estimate.unwrap());
        shares().fold(0.0, f64::max) - shares().fold(1.0, f64::min)
    };
    assert!(spread(&ranked) < spread(&own));
    for row in &ranked {
        let site = own.iter().find(|own| own.group == row.group).unwrap();
        assert_eq!((row.n, row.events), (site.n, site.events));
        let below = row.own.probability.unwrap();
        assert!((0.0..=1.0).contains(&below));
    }
}

/// Effective sizes by hand: looks over the widened design effect are no more than looks, and no
/// more than looks over the design effect that the row states.
#[test]
fn the_funnel_places_sites_by_effective_size_between_their_limits() {
    let placed = rows(By::Site, Quantity::SiteFunnel);
    let fleet = rows(By::Site, Quantity::Clean);
    assert_eq!(placed.len(), fleet.len());
    for row in &placed {
        let own = fleet.iter().find(|own| own.group == row.group).unwrap();
        let size = row.own.n_effective.unwrap();
        assert!(size <= own.n / own.own.deff.unwrap() + 1e-9 && size > 0.0);
        assert!((row.estimate.unwrap() - own.estimate.unwrap()).abs() < 1e-12);
        let (low, high) = (row.low.unwrap(), row.high.unwrap());
        let outside = !(low..=high).contains(&row.estimate.unwrap());
        assert_eq!(outside, row.own.signal.is_some(), "{row:?}");
    }
    // Limits narrow with size around one centre.
    let limits = rows(By::Fleet, Quantity::FunnelOuter);
    assert!(limits.is_sorted_by(|a, b| a.n <= b.n && a.low <= b.low && a.high >= b.high));
    let inner = rows(By::Fleet, Quantity::FunnelInner);
    for (outer, inner) in limits.iter().zip(inner) {
        assert!(outer.low <= inner.low && inner.high <= outer.high && outer.n == inner.n);
    }
}

/// The last quarter of the trend is the period: the same looks, another kind of cluster.
#[test]
fn quarters_of_the_trend_have_a_design_effect_of_site_weeks() {
    let demo = demo();
    let quarters = rows(By::Quarter, Quantity::Clean);
    for row in &quarters {
        assert!(row.own.deff.unwrap() >= 1.0);
        // At most one cluster a site and week of the quarter.
        let clusters = row.own.clusters.unwrap() as f64;
        assert!((20.0..=14.0 * demo.review.sites.len() as f64).contains(&clusters), "{clusters}");
    }
    let fleet = rows(By::Fleet, Quantity::Clean)[0];
    let last = quarters[quarters.len() - 1];
    assert_eq!((last.n, last.events), (fleet.n, fleet.events));
    assert!(holds(last, fleet.estimate.unwrap()));
    assert!(last.flags.iter().all(|flag| *flag != Flag::Thin));
}
