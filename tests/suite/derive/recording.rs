//! What was looked at and found by site and month, and which faults name their mating (5.10).
//!
//! Source of every expected value: the sentences of the figures, applied by hand to the rows shown.

use motetrail::derive::Coverage;
use motetrail::derive::counts::{How, looked_at};

use super::fleet::fleet;
use super::seen::Seen;

/// Sums over all cells.
fn total(seen: &Seen) -> looked_at::Row {
    use motetrail::derive::counts::Row;
    let mut total = looked_at::Row::default();
    for (_, row) in seen.derived.counts.recording.looked_at.cells() {
        total.add(&row);
    }
    total
}

#[test]
fn ends_that_a_look_could_see_and_those_that_one_saw() {
    let seen = fleet()
        .looks(
            "at,end_face,optic,outcome
            2026-03-02 08:00,a,,pass
            2026-03-02 08:00,b,,pass
            2026-03-02 08:00,c,,pass
            2026-03-02 08:00,e,,fail
            2026-02-02 08:00,lens,recessed-lens,pass",
        )
        .matings(
            "at,end_face_a,end_face_b
            2026-03-02 09:00,a,b
            2026-03-02 09:00,c,lens
            2026-03-02 09:00,e,f
            2026-03-02 09:00,g,",
        )
        .derive();
    let row = total(&seen);
    // The mating with an end that is not identified is of unknown coverage and off the table.
    assert_eq!((row.matings, row.ends, row.unseen), (3, 5, 1));
    assert_eq!((row.both, row.both_by_one_look, row.both_by_two_looks), (2, 1, 1));
    assert_eq!(row.seen, 3, "the mating despite a failing look is neither both nor one");
}

#[test]
fn a_cleaning_is_closed_if_the_visit_ends_with_a_look() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome,finding
            2026-03-02 08:00,a,fail,contamination
            2026-03-02 08:10,a,pass,
            2026-03-02 08:00,b,fail,contamination
            2026-03-02 08:00,c,fail,defect
            2026-03-02 08:00,d,pass,
            2026-03-02 08:20,e,pass,",
        )
        .cleanings(
            "at,end_face
            2026-03-02 08:05,a
            2026-03-02 08:05,b
            2026-03-02 08:05,c
            2026-03-02 08:05,d
            2026-03-02 08:05,e",
        )
        .derive();
    let row = total(&seen);
    assert_eq!(
        (row.first_looks, row.failing),
        (4, 2),
        "a defect is no dirt; e began with a cleaning"
    );
    assert_eq!((row.cleaned, row.closed), (2, 1), "of those that failed first");
    assert_eq!(row.cleanings, 5);
}

#[test]
fn visits_that_a_fault_prompted_are_off_the_table() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-03-02 08:00,a,pass\n2026-03-02 08:00,b,pass")
        .faults("opened,cleared,end_face\n2026-03-02 07:00,,a")
        .derive();
    assert_eq!(total(&seen).first_looks, 1);
}

#[test]
fn faults_count_under_the_coverage_of_their_mating_and_how_they_found_it() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome
            2026-01-05 08:00,y,pass
            2026-03-02 08:00,a,pass
            2026-03-02 08:00,b,pass
            2026-03-02 08:00,c,pass",
        )
        .matings(
            "at,record,end_face_a,end_face_b
            2026-03-02 09:00,m1,a,b
            2026-03-02 09:00,m2,c,d",
        )
        .faults(
            "opened,mating,end_face,cause
            2026-03-05 09:00,m1,,contamination
            2026-03-09 09:00,,c,contamination
            2026-03-09 09:00,,x,contamination",
        )
        .derive();
    let cells = seen.derived.counts.recording.fault_records.cells();
    let mut found: Vec<(Coverage, How, i64)> =
        cells.iter().map(|(cell, row)| (cell.coverage, cell.how, row.faults)).collect();
    found.sort();
    let want = [(Coverage::Both, How::ByRecord, 1), (Coverage::One, How::ByEndFace, 1)];
    assert_eq!(found, want, "what found no mating has no coverage");
}
