//! 5.3's shares on clusters of site-weeks, or of longer blocks.

use motetrail::derive::Coverage;
use motetrail::derive::counts::mating_clusters;
use motetrail::measures::coverage::{By, Quantity};
use motetrail::measures::fault_rates::Block;
use motetrail::stats::clustered::{MOST_USUAL, PRIOR_UNITS, USUAL_CORRELATION};

use crate::review::demo::demo;

/// The clusters hold the same matings, classes and reseats as the table by quarter.
#[test]
fn clusters_hold_the_matings_of_the_period() {
    let counts = &demo().derived.counts;
    let period = demo().derived.calendar.piece_of(demo().derived.period.quarter).unwrap();
    let mut clusters = counts.coverage.mating_clusters.cells();
    clusters.retain(|(cell, _)| cell.quarter.0 == period);
    for class in Coverage::ALL.iter().copied() {
        let quarterly = counts.coverage.matings.cells().into_iter();
        let own = quarterly.filter(|(cell, _)| cell.quarter.0 == period && cell.coverage == class);
        let (matings, reseats) =
            own.fold((0, 0), |sum, (_, row)| (sum.0 + row.matings, sum.1 + row.reseats));
        let of = |figure: fn(&mating_clusters::Row, Coverage) -> i64| {
            clusters.iter().map(|(_, row)| figure(row, class)).sum::<i64>()
        };
        let sums = (of(mating_clusters::Row::of_class), of(mating_clusters::Row::reseats_of));
        assert_eq!(sums, (matings, reseats), "{class:?}");
    }
    for (_, row) in &clusters {
        let classes: i64 = Coverage::ALL.iter().map(|class| row.of_class(*class)).sum();
        assert_eq!(row.matings, classes);
        assert_eq!((row.known, row.skipped), (row.matings - row.unknown, row.one + row.none));
    }
    let totals = (counts.coverage.mating_weeks.total(), counts.coverage.matings.total());
    assert_eq!(totals.0.matings, totals.1.matings);
}

/// The design effect of the fleet's share skipped, by hand from the clusters: Rao & Scott (1992),
/// section 2: m / (m - 1) sum (y - p n)^2 / (p (1 - p) sum n), drawn towards the most that is usual (site-weeks
/// are large, longer blocks larger), which counts as four of those skipped.
#[test]
fn design_effect_of_the_share_skipped_is_that_of_the_blocks_that_the_row_names() {
    let demo = demo();
    let row = demo.review.coverage.rows_of(By::Fleet, Quantity::Skipped).next().unwrap();
    let block = row.own.block.unwrap();
    let within = |week: u32| match block {
        Block::Week => week,
        Block::Month => week / 4,
        Block::Quarter => 0,
    };
    let mut weeks = std::collections::BTreeMap::new();
    let period = demo.derived.calendar.piece_of(demo.derived.period.quarter).unwrap();
    let cells = demo.derived.counts.coverage.mating_clusters.cells().into_iter();
    for (cell, row) in cells.filter(|(cell, _)| cell.quarter.0 == period) {
        let own: &mut (f64, f64) = weeks.entry((cell.site, within(cell.week.0))).or_default();
        *own = (own.0 + row.known as f64, own.1 + row.skipped as f64);
    }
    weeks.retain(|_, own| own.0 > 0.0);
    let n: f64 = weeks.values().map(|own| own.0).sum();
    let y: f64 = weeks.values().map(|own| own.1).sum();
    let (p, m) = (y / n, weeks.len() as f64);
    let gaps: f64 = weeks.values().map(|own| (own.1 - p * own.0).powi(2)).sum();
    let deff = m / (m - 1.0) * gaps / (p * (1.0 - p) * n);
    let size = weeks.values().map(|own| own.0 * own.0).sum::<f64>() / n;
    let usual = (1.0 + (size - 1.0) * USUAL_CORRELATION).min(MOST_USUAL);
    assert_eq!(usual, MOST_USUAL);
    let rarer = y.min(n - y);
    let deff = (rarer * deff + PRIOR_UNITS * usual) / (rarer + PRIOR_UNITS);
    let stated = row.own.deff.unwrap();
    assert!((stated - deff.max(1.0)).abs() < 1e-9, "{stated} against {deff}");
    assert_eq!(row.own.clusters, Some(weeks.len() as u64));
    assert_eq!((row.n, row.events), (n, Some(y as i64)));
}
