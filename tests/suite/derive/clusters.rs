//! What stands in the clusters of matings and of cycles.
//!
//! Source of every expected value: sections 4 and 5 of the design, applied by hand to the rows
//! shown.

use motetrail::derive::Quarter;
use motetrail::derive::counts::{
    Cap, ClusterHigh, ClusterLow, CountTable, EndSide, Family, MOST_WORK_ORDERS, QuarterNo, Site,
    Stage, Supplier, WeekNo, WorkOrders, ZoneOf, has_too_many_work_orders, work_orders,
};

use super::fleet::fleet;
use super::seen::figures;

/// Two cycles of one visit, dry and then wet, and a third event that closes none; looked back over
/// from the second quarter of 2026.
#[test]
fn cycles_are_counted_with_their_method_and_the_zone_that_failed_first() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome,finding,zone
            2026-04-07 08:00,p,fail,contamination,B
            2026-04-07 08:02,p,fail,contamination,A
            2026-04-07 08:05,p,pass,,
            2026-04-07 08:07,p,pass,,
            2026-04-08 08:00,q,fail,contamination,
            2024-04-08 08:00,r,fail,contamination,
            2024-04-08 08:02,r,pass,,",
        )
        .cleanings(
            "at,end_face,method
            2026-04-07 08:01,p,dry
            2026-04-07 08:03,p,wet
            2026-04-07 08:04,p,wet
            2026-04-07 08:06,p,dry
            2024-04-08 08:01,r,dry",
        )
        .review("2026-Q2")
        .derive();
    let table = &seen.derived.counts.cleaning.cycle_trials;
    let mut cells: Vec<(String, ZoneOf, u32, [i64; 9])> = table
        .cells()
        .into_iter()
        .map(|(cell, row)| {
            (seen.method(cell.method.0).to_owned(), cell.zone, cell.cycle.0, figures(row))
        })
        .collect();
    cells.sort();
    // Cleaning after the pass belongs to no cycle that is followed.
    // The pass is another method's than the first.
    let expected = [
        ("dry", ZoneOf::Cladding, 1, [1, 0, 1, 0, 0, 1, 0, 0, 0]),
        ("wet", ZoneOf::Cladding, 2, [1, 1, 2, 0, 0, 0, 0, 0, 0]),
    ];
    assert_eq!(cells, expected.map(|(method, zone, at, row)| (method.to_owned(), zone, at, row)));
    // The cycle of 2024 lies before the months looked back.
    assert_eq!(figures(table.off_table()), [1, 1, 1, 0, 0, 1, 1, 0, 0]);
    assert_eq!(figures(table.total()), [3, 2, 4, 0, 0, 2, 1, 0, 0]);
}

#[test]
fn matings_cluster_by_site_week_of_the_quarters_compared_and_by_week_of_all_time() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-04-06 08:00,p,pass\n2026-04-06 08:01,q,pass")
        .matings(
            "at,end_face_a,end_face_b,demated_at
            2025-12-31 09:00,t,u,
            2026-03-31 09:00,t,u,
            2026-04-06 09:00,p,q,2026-04-06 10:00
            2026-04-06 11:00,p,q,
            2026-04-08 09:00,r,s,",
        )
        .review("2026-Q2")
        .derive();
    let counts = &seen.derived.counts;
    let rows = |quarter: &str| -> Vec<[i64; 14]> {
        let piece = seen.derived.calendar.piece_of(Quarter::parse(quarter).unwrap());
        let cells = counts.coverage.mating_clusters.cells().into_iter();
        cells
            .filter(|(cell, _)| Some(cell.quarter.0) == piece)
            .map(|(_, row)| figures(row))
            .collect()
    };
    // Both, and made again; again, when looks do not cover the whole window before it: unknown; none.
    assert_eq!(rows("2026-Q2"), [[3, 2, 1, 1, 0, 1, 0, 1, 0, 1, 0, 0, 0, 0]]);
    assert_eq!((rows("2026-Q1").len(), rows("2026-Q1")[0][0]), (1, 1));
    // The last quarter of 2025 is compared with nothing.
    assert_eq!(
        (rows("2025-Q4").len(), counts.coverage.mating_clusters.off_table().matings),
        (0, 1)
    );
    let weeks: Vec<[i64; 9]> =
        counts.coverage.mating_weeks.cells().into_iter().map(|(_, row)| figures(row)).collect();
    assert_eq!(weeks.len(), 3);
    assert_eq!(weeks[2], [3, 2, 1, 1, 0, 1, 0, 1, 0]);
}

/// A table with one look of each of these work orders, by quarter.
fn orders(of: impl Iterator<Item = (u32, u32)>) -> CountTable<WorkOrders> {
    let mut table = CountTable::default();
    for (quarter, order) in of {
        let cell = work_orders::Key {
            quarter: QuarterNo(quarter),
            stage: Stage(0),
            family: Family(0),
            side: EndSide::Unknown,
            site: Site(0),
            supplier: Supplier(0),
            capped: Cap::Unknown,
            week: WeekNo(0),
            cluster_high: ClusterHigh(1),
            cluster_low: ClusterLow(order),
        };
        table.add(Some(cell), work_orders::Row { looks: 1, clean: 1 });
    }
    table
}

/// A million in the period are kept, one more are not, and a quarter that the period is compared with
/// may have more.
#[test]
fn work_orders_are_given_up_where_the_period_has_more_than_a_million() {
    let most = MOST_WORK_ORDERS as u32;
    let table = orders((0..=most).map(|order| (3, order)).chain([(4, 0)]));
    assert!(has_too_many_work_orders(&table, Some(3)));
    assert!(!has_too_many_work_orders(&table, Some(4)));
    assert!(!has_too_many_work_orders(&table, None));
    let million = orders((1..=most).map(|order| (3, order)));
    assert!(!has_too_many_work_orders(&million, Some(3)));
}
