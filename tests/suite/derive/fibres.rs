//! R4: rows of one look at several fibres.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::Look;
use motetrail::records::Finding;

use super::fleet::fleet;
use super::seen::Seen;

fn looked(rows: &str) -> Seen {
    fleet()
        .looks(&format!("record,at,end_face,fibre,outcome,finding,zone,disposition\n{rows}"))
        .derive()
}

/// First look and zone of `p`.
fn first(rows: &str) -> (Option<Look>, u8) {
    let seen = looked(rows);
    let visit = seen.visit("p");
    (visit.first, visit.first_zone)
}

#[test]
fn r4_rows_of_one_record_are_one_look_and_one_failing_fibre_fails_it() {
    let rows = "I1,2026-03-02 08:00:00,p,1,pass,,,
        I1,2026-03-02 08:00:10,p,2,fail,contamination,C,
        I1,2026-03-02 08:00:20,p,3,pass,,,";
    assert_eq!(first(rows), (Some(Look::Fail(Finding::Contamination)), 3));
    let total = looked(rows).derived.counts.first_pass.visits.total();
    assert_eq!((total.visits, total.looks), (1, 1));
}

#[test]
fn r4_a_defect_outweighs_contamination_and_the_zone_is_the_innermost_failing() {
    let rows = "I1,2026-03-02 08:00,p,1,fail,defect,D,
        I1,2026-03-02 08:00,p,2,fail,contamination,B,
        I1,2026-03-02 08:00,p,3,pass,,A,";
    assert_eq!(first(rows), (Some(Look::Fail(Finding::Defect)), 2));
}

#[test]
fn r4_one_unreadable_fibre_makes_the_look_unreadable_unless_one_fails() {
    let unreadable = looked(
        "I1,2026-03-02 08:00,p,1,pass,,,
        I1,2026-03-02 08:00,p,2,unreadable,,,",
    );
    assert!(unreadable.visits.is_empty());
    assert_eq!(unreadable.derived.counts.first_pass.unreadable.total().unreadable, 1);
    let failing = "I1,2026-03-02 08:00,p,1,unreadable,,,
        I1,2026-03-02 08:00,p,2,fail,contamination,A,";
    assert_eq!(first(failing), (Some(Look::Fail(Finding::Contamination)), 1));
}

#[test]
fn looks_are_counted_with_their_fibres_joined_and_so_are_those_without_a_picture() {
    let seen = looked(
        "I1,2026-03-02 08:00,p,1,unreadable,,,
        I1,2026-03-02 08:00,p,2,pass,,,
        I1,2026-03-02 08:00,p,3,unreadable,,,
        I2,2026-03-02 08:05,p,1,pass,,,
        I3,2026-03-02 08:05,p,2,pass,,,
        I4,2026-03-02 09:00,q,,unreadable,,,",
    );
    let total = seen.derived.counts.first_pass.unreadable.total();
    assert_eq!((total.looks, total.unreadable), (3, 2));
}

#[test]
fn r4_a_disposition_on_any_fibre_is_that_of_the_look() {
    let seen = looked(
        "I1,2026-03-02 08:00,p,1,fail,defect,A,reject
        I1,2026-03-02 08:00,p,2,pass,,,",
    );
    assert_eq!(seen.visit("p").ending, motetrail::derive::Ending::Rejected);
}

#[test]
fn r4_without_a_record_rows_of_one_time_with_different_fibres_are_one_look() {
    let rows = "at,end_face,fibre,outcome
        2026-03-02 08:00,p,1,pass
        2026-03-02 08:00,p,2,fail
        2026-03-02 08:01,p,1,pass";
    let seen = fleet().looks(rows).derive();
    let visit = seen.visit("p");
    assert_eq!(visit.first, Some(Look::Fail(Finding::Unknown)));
    assert_eq!((visit.last, visit.pass_without_cycle), (Some(Look::Pass), Some(0)));
}

#[test]
fn r4_rows_with_a_record_each_are_one_look_by_end_face_and_time() {
    let rows = "I1,2026-03-02 08:00,p,1,pass,,,
        I2,2026-03-02 08:00,p,2,fail,contamination,B,
        I3,2026-03-02 08:00,q,1,pass,,,
        I4,2026-03-02 08:01,p,1,pass,,,
        I5,2026-03-02 08:01,p,2,pass,,,";
    let seen = looked(rows);
    let visit = seen.visit("p");
    assert_eq!((visit.first, visit.first_zone), (Some(Look::Fail(Finding::Contamination)), 2));
    assert_eq!((visit.last, visit.pass_without_cycle), (Some(Look::Pass), Some(0)));
    assert_eq!(seen.visit("q").first, Some(Look::Pass));
    // A look at p a minute later is no second look after a pass: the first of them failed.
    assert_eq!(visit.second_looks.looks, 0);
}

#[test]
fn r4_rows_with_and_without_a_record_of_one_time_are_one_look() {
    let rows = "I1,2026-03-02 08:00,p,1,pass,,,
        ,2026-03-02 08:00,p,2,fail,contamination,B,
        I3,2026-03-02 08:00,p,3,unreadable,,,";
    assert_eq!(first(rows), (Some(Look::Fail(Finding::Contamination)), 2));
}

#[test]
fn r4_a_record_of_several_rows_takes_in_no_row_of_another_record() {
    // The two rows of I1 are one look that passed; I2 and I3 are another one, which failed.
    let rows = "I1,2026-03-02 08:00,p,1,pass,,,
        I1,2026-03-02 08:00,p,2,pass,,,
        I2,2026-03-02 08:00,p,3,pass,,,
        I3,2026-03-02 08:00,p,4,fail,contamination,B,";
    let seen = looked(rows);
    let visit = seen.visit("p");
    let failed = Some(Look::Fail(Finding::Contamination));
    assert_eq!((visit.first, visit.last), (Some(Look::Pass), failed));
    assert_eq!((visit.second_looks.looks, visit.second_looks.failing), (1, 1));
}

#[test]
fn r4_looks_of_two_sources_or_of_one_fibre_stay_apart_whatever_their_records() {
    let one = "record,at,end_face,fibre,outcome\nI1,2026-03-02 08:00,p,1,pass";
    let other = "record,at,end_face,fibre,outcome\nI2,2026-03-02 08:00,p,2,fail";
    let seen = fleet().looks(one).source("second", "inspections", other, "").derive();
    let visit = seen.visit("p");
    let failed = Some(Look::Fail(Finding::Unknown));
    assert_eq!((visit.first, visit.last), (Some(Look::Pass), failed));
    let twice = "I1,2026-03-02 08:00,p,1,pass,,,\nI2,2026-03-02 08:00,p,1,fail,,,";
    let seen = looked(twice);
    assert_eq!((seen.visit("p").first, seen.visit("p").last), (Some(Look::Pass), failed));
}

#[test]
fn r4_a_repeated_fibre_at_one_time_begins_another_look() {
    let rows = "at,seq,end_face,fibre,outcome
        2026-03-02 08:00,1,p,1,fail
        2026-03-02 08:00,2,p,2,pass
        2026-03-02 08:00,3,p,1,pass
        2026-03-02 08:00,4,p,2,pass";
    let seen = fleet().looks(rows).derive();
    let visit = seen.visit("p");
    assert_eq!((visit.first, visit.last), (Some(Look::Fail(Finding::Unknown)), Some(Look::Pass)));
}

#[test]
fn r4_a_cleaning_between_by_seq_separates_looks_of_one_time() {
    let part = |table: &str, is: &str, more: &str, constant: &str| {
        format!(
            "[[source.record]]\ntable = {table:?}
            when = {{ column = \"said\", {is} = [\"wiped\"] }}
            columns = {{ at = \"at\", seq = \"seq\", end_face = \"end_face\"{more} }}
            dates = {{ at = \"%Y-%m-%d %H:%M\" }}
            constants = {{ stage = \"installation\"{constant} }}\n"
        )
    };
    let looks = part("inspections", "is_not", ", fibre = \"fibre\", outcome = \"said\"", "");
    let parts = looks + &part("cleanings", "is", "", ", method = \"dry\"");
    let first = |wiped: u32| {
        let rows = format!(
            "at,seq,end_face,fibre,said
            2026-03-02 08:00,1,p,1,pass
            2026-03-02 08:00,{wiped},p,,wiped
            2026-03-02 08:00,3,p,2,fail"
        );
        let seen = fleet().raw("bench", &rows, &parts).derive();
        let visit = seen.visit("p");
        (visit.first, visit.cycles.len())
    };
    assert_eq!(first(2), (Some(Look::Pass), 1));
    assert_eq!(first(4), (Some(Look::Fail(Finding::Unknown)), 0));
}
