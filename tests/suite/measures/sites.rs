//! 5.1 by site on the demo: ranks, the funnel, the trend's design effect.

use motetrail::measures::{Flag, Row, Value};

use crate::review::demo::{demo, holds};

fn number(row: &Row, column: &str) -> Option<f64> {
    match demo().review.first_pass.own(row, column) {
        Value::Number(number) => Some(*number),
        Value::Count(count) => Some(*count as f64),
        _ => None,
    }
}

#[test]
fn sites_are_ranked_from_the_lowest_and_drawn_towards_the_mean() {
    let demo = demo();
    let rows = demo.rows("first_pass", "site", "site-ranked");
    let own = demo.rows("first_pass", "site", "first-pass-clean");
    assert_eq!(rows.len(), own.len());
    let ranks: Vec<f64> = rows.iter().filter_map(|row| number(row, "rank")).collect();
    let firm = rows.iter().filter(|row| row.is_firm()).count();
    assert!(firm >= 8, "{firm}");
    assert_eq!(ranks, (1..=firm).map(|rank| rank as f64).collect::<Vec<_>>());
    let expected: Vec<f64> = rows.iter().filter_map(|row| number(row, "expected_rank")).collect();
    assert!(expected[..firm].is_sorted());
    // All sites together: 1 + 2 + ... + n.
    let n = rows.len() as f64;
    assert!((expected.iter().sum::<f64>() - n * (n + 1.0) / 2.0).abs() < 1e-9);
    let spread = |rows: &[&Row]| {
        let shares = || rows.iter().map(|row| row.estimate.unwrap());
        shares().fold(0.0, f64::max) - shares().fold(1.0, f64::min)
    };
    assert!(spread(&rows) < spread(&own));
    for row in &rows {
        let site = own.iter().find(|own| own.group == row.group).unwrap();
        assert_eq!((row.n, row.events), (site.n, site.events));
        let below = number(row, "probability").unwrap();
        assert!((0.0..=1.0).contains(&below));
    }
}

/// Effective sizes by hand: looks over the widened design effect are no more than looks, and no
/// more than looks over the design effect that the row states.
#[test]
fn the_funnel_places_sites_by_effective_size_between_their_limits() {
    let demo = demo();
    let rows = demo.rows("first_pass", "site", "site-funnel");
    let fleet = demo.rows("first_pass", "site", "first-pass-clean");
    assert_eq!(rows.len(), fleet.len());
    for row in &rows {
        let own = fleet.iter().find(|own| own.group == row.group).unwrap();
        let size = number(row, "n_effective").unwrap();
        assert!(size <= own.n / number(own, "deff").unwrap() + 1e-9 && size > 0.0);
        assert!((row.estimate.unwrap() - own.estimate.unwrap()).abs() < 1e-12);
        let (low, high) = (row.low.unwrap(), row.high.unwrap());
        let named = demo.own("first_pass", row, "signal");
        let outside = !(low..=high).contains(&row.estimate.unwrap());
        assert_eq!(outside, !named.is_empty(), "{row:?}");
    }
    // Limits narrow with size around one centre.
    let limits = demo.rows("first_pass", "fleet", "funnel-limits-outer");
    assert!(limits.is_sorted_by(|a, b| a.n <= b.n && a.low <= b.low && a.high >= b.high));
    let inner = demo.rows("first_pass", "fleet", "funnel-limits-inner");
    for (outer, inner) in limits.iter().zip(inner) {
        assert!(outer.low <= inner.low && inner.high <= outer.high && outer.n == inner.n);
    }
}

/// The last quarter of the trend is the period: the same looks, another kind of cluster.
#[test]
fn quarters_of_the_trend_have_a_design_effect_of_site_weeks() {
    let demo = demo();
    let quarters = demo.rows("first_pass", "quarter", "first-pass-clean");
    for row in &quarters {
        assert!(number(row, "deff").unwrap() >= 1.0);
        // At most one cluster a site and week of the quarter.
        let clusters = number(row, "clusters").unwrap();
        assert!((20.0..=14.0 * demo.review.sites.len() as f64).contains(&clusters), "{clusters}");
    }
    let fleet = demo.rows("first_pass", "fleet", "first-pass-clean")[0];
    let last = quarters[quarters.len() - 1];
    assert_eq!((last.n, last.events), (fleet.n, fleet.events));
    assert!(holds(last, fleet.estimate.unwrap()));
    assert!(last.flags.iter().all(|flag| *flag != Flag::Thin));
}
