//! 5.3's shares on clusters of site-weeks.

use motetrail::derive::Coverage;
use motetrail::measures::coverage::{By, Quantity};

use crate::review::demo::demo;

/// The clusters hold the same matings, classes and reseats as the table by quarter.
#[test]
fn clusters_hold_the_matings_of_the_period() {
    let counts = &demo().derived.counts;
    let period = demo().derived.calendar.piece_of(demo().derived.period.quarter).unwrap();
    let mut clusters = counts.mating_clusters.cells();
    clusters.retain(|(cell, _)| cell[0] == period);
    for (place, class) in Coverage::ALL.into_iter().enumerate() {
        let quarterly = counts.matings.cells();
        let own = quarterly.iter().filter(|(cell, _)| cell[0] == period && cell[4] == class as u32);
        let (matings, reseats) = own.fold((0, 0), |sum, (_, row)| (sum.0 + row[0], sum.1 + row[1]));
        let column = |at: usize| clusters.iter().map(|(_, row)| row[at]).sum::<i64>();
        assert_eq!((column(3 + place), column(8 + place)), (matings, reseats), "{class:?}");
    }
    for (_, row) in &clusters {
        assert_eq!(row[0], row[3..8].iter().sum::<i64>());
        assert_eq!((row[1], row[2]), (row[0] - row[7], row[4] + row[5]));
    }
    assert_eq!(counts.mating_weeks.total()[0], counts.matings.total()[0]);
}

/// The design effect of the fleet's share skipped, by hand from the clusters: Rao & Scott (1992),
/// section 2: m / (m - 1) sum (y - p n)^2 / (p (1 - p) sum n).
#[test]
fn design_effect_of_the_share_skipped_is_that_of_site_weeks() {
    let demo = demo();
    let mut weeks = std::collections::BTreeMap::new();
    let period = demo.derived.calendar.piece_of(demo.derived.period.quarter).unwrap();
    let cells = demo.derived.counts.mating_clusters.cells().into_iter();
    for ([_, week, site, _, _], row) in cells.filter(|(cell, _)| cell[0] == period) {
        let own: &mut (f64, f64) = weeks.entry((site, week)).or_default();
        *own = (own.0 + row[1] as f64, own.1 + row[2] as f64);
    }
    weeks.retain(|_, own| own.0 > 0.0);
    let n: f64 = weeks.values().map(|own| own.0).sum();
    let y: f64 = weeks.values().map(|own| own.1).sum();
    let (p, m) = (y / n, weeks.len() as f64);
    let gaps: f64 = weeks.values().map(|own| (own.1 - p * own.0).powi(2)).sum();
    let deff = m / (m - 1.0) * gaps / (p * (1.0 - p) * n);
    let row = demo.review.coverage.rows_of(By::Fleet, Quantity::Skipped).next().unwrap();
    let stated = row.own.deff.unwrap();
    assert!((stated - deff.max(1.0)).abs() < 1e-9, "{stated} against {deff}");
    assert_eq!(row.own.clusters, Some(weeks.len() as u64));
    assert_eq!((row.n, row.events), (n, Some(y as i64)));
}
