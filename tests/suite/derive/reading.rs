//! How declared count tables are read: groups, one column further, clusters, and which rows count.
//!
//! Source of every expected value: counted by hand from the rows shown.

use std::collections::BTreeMap;

use motetrail::by;
use motetrail::derive::counts::{
    AnyTable, ClusterHigh, ClusterLow, Columns, Counted, CycleNo, Cycles, FirstLooks, Method,
    Narrow, Site, Stage, View, VisitRow, Visits, WeekNo, WorkOrders,
};
use motetrail::derive::{ByColumns, Frame, Rows, TableFrame};
use proptest::prelude::*;

use super::fleet::fleet;
use super::seen::Seen;

/// Two stages; at the second an end face that fails, is cleaned twice with a look after each, and passes.
fn seen() -> Seen {
    fleet()
        .also("[stages]\norder = [\"incoming\", \"installation\"]")
        .looks(
            "at,end_face,stage,outcome,finding
            2026-03-02 08:00,p,incoming,pass,
            2026-03-03 08:00,q,incoming,fail,defect
            2026-03-04 08:00,r,installation,fail,contamination
            2026-03-04 08:10,r,installation,fail,contamination
            2026-03-04 08:20,r,installation,pass,
            2026-03-11 08:00,s,installation,pass,",
        )
        .cleanings(
            "at,end_face,stage,method
            2026-03-04 08:05,r,installation,dry
            2026-03-04 08:15,r,installation,dry",
        )
        .derive()
}

fn frame(seen: &Seen, table: &dyn AnyTable) -> Frame {
    let derived = &seen.derived;
    Frame::of(table, &derived.glossary, &derived.calendar)
}

#[test]
fn groups_hold_the_sums_of_their_cells_in_the_order_of_display() {
    let seen = seen();
    let frame = frame(&seen, &seen.derived.counts.first_pass.visits);
    let visits = TableFrame::<Visits>::of(&frame);
    let by_stage = visits.groups(&Rows::all(), &by!(Stage)).unwrap();
    let told: Vec<(&str, i64, i64)> = by_stage
        .iter()
        .map(|group| (group.words[0].as_str(), group.counts.looks, group.counts.clean))
        .collect();
    assert_eq!(told, [("incoming", 2, 1), ("installation", 2, 1)]);
    let fleet = visits.groups(&Rows::all(), &by!()).unwrap();
    assert_eq!(fleet.len(), 1);
    assert_eq!(fleet[0].counts, seen.derived.counts.first_pass.visits.total());
    assert!(fleet[0].words.is_empty() && fleet[0].places.is_empty());
}

#[test]
fn only_rows_with_a_wanted_value_count_and_without_one_there_is_no_group() {
    let seen = seen();
    let frame = frame(&seen, &seen.derived.counts.first_pass.visits);
    let visits = TableFrame::<Visits>::of(&frame);
    let looks = |rows: Rows<Visits>| {
        let groups = visits.groups(&rows, &by!()).unwrap();
        groups.first().map(|group| group.counts.looks)
    };
    assert_eq!(looks(Rows::all().with([VisitRow::Routine])), Some(4));
    assert_eq!(looks(Rows::all().with([VisitRow::Recessed])), None);
    assert_eq!(looks(Rows::all().with([VisitRow::Recessed, VisitRow::Routine])), Some(4));
    assert_eq!(looks(Rows::all().with::<VisitRow>([])), None);
    assert_eq!(looks(Rows::all().named::<Stage>(["incoming"])), Some(2));
    assert_eq!(looks(Rows::all().named::<Stage>(["nowhere"])), None);
    let both = Rows::all().named::<Stage>(["incoming"]).with([VisitRow::Routine]);
    assert_eq!(looks(both), Some(2));
}

#[test]
fn cells_along_a_column_come_in_its_order_and_add_up_to_their_group() {
    let seen = seen();
    let frame = frame(&seen, &seen.derived.counts.cleaning.cycles);
    let cycles = TableFrame::<Cycles>::of(&frame);
    let rows = Rows::all().with([View::All]);
    let by_stage: ByColumns<Cycles> = by!(Stage);
    let along = cycles.along::<CycleNo>(&rows, &by_stage).unwrap();
    assert_eq!(along.len(), 1);
    let told: Vec<(u32, i64, i64)> =
        along[0].cells.iter().map(|(cycle, row)| (cycle.0, row.passed, row.cleanings)).collect();
    assert_eq!(told, [(1, 0, 1), (2, 1, 1)]);
    let groups = cycles.groups(&rows, &by_stage).unwrap();
    assert_eq!((along[0].total(), &along[0].words), (groups[0].counts, &groups[0].words));
    // What the grouping already has is not asked for twice.
    let by_method = cycles.along::<CycleNo>(&rows, &by!(Stage, Method, CycleNo)).unwrap();
    assert_eq!(by_method.iter().map(|along| along.cells.len()).collect::<Vec<_>>(), [1, 1]);
}

#[test]
fn clusters_are_the_finer_cells_of_their_group() {
    let seen = seen();
    let frame = frame(&seen, &seen.derived.counts.first_pass.first_looks);
    let looks = TableFrame::<FirstLooks>::of(&frame);
    let clusters = looks.clusters(&Rows::all(), &by!(Site), &by!(Site, WeekNo)).unwrap();
    assert_eq!(clusters.len(), 1);
    let told: Vec<(i64, i64)> =
        clusters[0].clusters.iter().map(|row| (row.looks, row.clean)).collect();
    assert_eq!(told, [(3, 1), (1, 1)]);
    let by_week = looks.clusters(&Rows::all(), &by!(WeekNo), &by!(Site, WeekNo)).unwrap();
    assert_eq!(by_week.iter().map(|week| week.clusters.len()).collect::<Vec<_>>(), [1, 1]);
}

#[test]
fn a_grouping_names_its_columns_in_the_order_of_display() {
    let grouping: ByColumns<Visits> = by!(Stage, VisitRow);
    assert_eq!(grouping.columns(), ["stage", "row"]);
    assert!(!grouping.is_fleet() && ByColumns::<Visits>::fleet().is_fleet());
}

/// A table of work orders whose stage, site and halves of a name are these numbers; every row has one look.
fn numbered(rows: &[[u32; 4]]) -> Frame {
    let column = |name: &str| {
        let at =
            ["stage", "site", "cluster_high", "cluster_low"].iter().position(|own| *own == name);
        narrow(rows.iter().map(|row| at.map_or(0, |at| row[at].into())))
    };
    let codes = WorkOrders::ABOUT.columns.iter().map(|about| column(about.name)).collect();
    let ones = |_| narrow(rows.iter().map(|_| 1));
    let counts = WorkOrders::ABOUT.figures.iter().map(ones).collect();
    Frame::of_columns(&WorkOrders::ABOUT, Columns { codes, counts })
}

#[test]
fn columns_are_as_wide_as_their_largest_number_and_below_zero_as_wide_as_any() {
    let (bytes, halves, words) = (i64::from(u8::MAX), i64::from(u16::MAX), i64::from(u32::MAX));
    let edges = [0, bytes, bytes + 1, halves, halves + 1, words, words + 1, 5_000_000_000];
    let below = [-1, -bytes - 1, -words - 1, i64::MIN, i64::MAX];
    let all: Vec<i64> = edges.into_iter().chain(below).collect();
    // Every number into a column of every width, and a small one behind it.
    for first in &all {
        for second in &all {
            let numbers = [*first, *second, 1];
            let column = narrow(numbers);
            assert!(column.iter().eq(numbers), "{numbers:?}");
            let mut told = [0; 3];
            column.each(&[2, 0, 1], |at, number| told[at] = number);
            assert_eq!(told, [1, *first, *second]);
            assert!(column.in_order(&[1, 2, 0]).iter().eq([*second, 1, *first]), "{numbers:?}");
            assert_eq!((column.len(), column.at(1)), (3, *second));
        }
    }
    let width = |number: i64| match narrow([number]) {
        Narrow::Bytes(_) => 1,
        Narrow::Halves(_) => 2,
        Narrow::Words(_) => 4,
        Narrow::Longs(_) => 8,
    };
    assert_eq!(edges.map(width), [1, 1, 2, 2, 4, 4, 8, 8]);
    assert_eq!(below.map(width), [8; 5]);
}

#[test]
fn counts_below_zero_and_beyond_32_bits_are_added_up_as_they_are() {
    let (sites, looks) = ([0, 1, 0, 1], [5_000_000_000, -3, -5_000_000_001, 4_294_967_296]);
    let codes = WorkOrders::ABOUT.columns.iter();
    let codes =
        codes.map(|about| narrow(sites.map(|site| if about.name == "site" { site } else { 0 })));
    let counts = WorkOrders::ABOUT.figures.iter().map(|_| narrow(looks));
    let columns = Columns { codes: codes.collect(), counts: counts.collect() };
    let frame = Frame::of_columns(&WorkOrders::ABOUT, columns);
    let frame = TableFrame::<WorkOrders>::of(&frame);
    let groups = frame.groups(&Rows::all(), &by!(Site)).unwrap();
    let looks: Vec<i64> = groups.iter().map(|group| group.counts.looks).collect();
    assert_eq!(looks, [-1, 4_294_967_293]);
}

fn narrow(numbers: impl IntoIterator<Item = i64>) -> Narrow {
    let mut column = Narrow::with_room(0);
    numbers.into_iter().for_each(|number| column.push(number));
    column
}

proptest! {
    /// Few groups have a place each, more are found by the order of the rows, and names of 64 bits beside other columns
    /// fit into no number at all.
    #[test]
    fn groups_are_those_of_a_sorted_map_however_large_the_numbers_are(
        rows in prop::collection::vec(
            (0..3_u32, 0..4_u32, prop::sample::select(vec![0, 7, u32::MAX]), any::<u32>())
                .prop_map(|(stage, site, high, low)| [stage, site, high, low / 3 * 3 % 1_000_003]),
            1..80,
        ),
    ) {
        let frame = numbered(&rows);
        let table = TableFrame::<WorkOrders>::of(&frame);
        let groupings: [(ByColumns<WorkOrders>, &[usize]); 5] = [
            (by!(Stage, Site), &[0, 1]),
            (by!(ClusterHigh), &[2]),
            (by!(ClusterHigh, ClusterLow), &[2, 3]),
            (by!(Stage, Site, ClusterHigh, ClusterLow), &[0, 1, 2, 3]),
            (by!(ClusterLow, ClusterHigh, Site), &[3, 2, 1]),
        ];
        for (by, columns) in groupings {
            let mut wanted: BTreeMap<Vec<u32>, i64> = BTreeMap::new();
            for row in &rows {
                *wanted.entry(columns.iter().map(|at| row[*at]).collect()).or_default() += 1;
            }
            let groups = table.groups(&Rows::all(), &by).unwrap();
            let found: Vec<(Vec<u32>, i64)> =
                groups.into_iter().map(|group| (group.places, group.counts.looks)).collect();
            prop_assert_eq!(found, wanted.into_iter().collect::<Vec<_>>());
        }
    }
}
