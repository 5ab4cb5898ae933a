//! How declared count tables are read: groups, one column further, clusters, and which rows count.
//!
//! Source of every expected value: counted by hand from the rows shown.

use motetrail::by;
use motetrail::derive::counts::{
    AnyTable, CycleNo, Cycles, FirstLooks, Method, Site, Stage, View, VisitRow, Visits, WeekNo,
    to_arrow,
};
use motetrail::derive::{ByColumns, Frame, Rows, TableFrame};

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
    Frame::of(&to_arrow(table, &derived.glossary, &derived.calendar).unwrap()).unwrap()
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
