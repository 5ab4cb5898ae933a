//! V1 to V4: where visits begin, what cycles are, what the first event says.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::{Cycle, Look};
use motetrail::records::Finding;

use super::fleet::fleet;
use super::minutes::worked;
use super::seen::Seen;

#[test]
fn v1_exactly_eight_hours_is_the_same_visit_and_a_second_more_is_not() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome
            2026-03-02 08:00:00,p,fail
            2026-03-02 16:00:00,p,pass
            2026-03-03 00:00:01,p,pass",
        )
        .derive();
    assert_eq!(seen.starts("p"), ["2026-03-02 08:00:00", "2026-03-03 00:00:01"]);
}

#[test]
fn v1_the_gap_is_counted_from_the_previous_event_and_follows_the_settings() {
    let rows = "at,end_face,outcome
        2026-03-02 08:00,p,fail
        2026-03-02 12:00,p,fail
        2026-03-02 16:00,p,pass";
    assert_eq!(fleet().looks(rows).derive().starts("p").len(), 1);
    let strict = fleet().also("[rules]\nvisit_gap_hours = 3").looks(rows).derive();
    assert_eq!(strict.starts("p").len(), 3);
}

#[test]
fn v1_a_change_of_stage_or_site_starts_a_visit() {
    let seen = fleet()
        .looks(
            "at,end_face,stage,site,outcome
            2026-03-02 08:00,p,incoming,Works,pass
            2026-03-02 08:10,p,installation,Works,pass
            2026-03-02 08:20,p,installation,Depot,pass
            2026-03-02 08:30,p,installation,Depot,pass",
        )
        .derive();
    let starts = ["2026-03-02 08:00:00", "2026-03-02 08:10:00", "2026-03-02 08:20:00"];
    assert_eq!(seen.starts("p"), starts);
}

#[test]
fn v1_a_work_order_is_compared_with_the_last_known_one() {
    let seen = fleet()
        .looks(
            "at,end_face,work_order,outcome
            2026-03-02 08:00,p,,fail
            2026-03-02 08:10,p,A,fail
            2026-03-02 08:20,p,,fail
            2026-03-02 08:30,p,A,fail
            2026-03-02 08:40,p,,fail
            2026-03-02 08:50,p,B,pass",
        )
        .derive();
    assert_eq!(seen.starts("p"), ["2026-03-02 08:00:00", "2026-03-02 08:50:00"]);
}

#[test]
fn v1_a_mating_ends_the_visit_but_a_demating_does_not() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome
            2026-03-02 08:00,p,pass
            2026-03-02 08:20,p,pass
            2026-03-02 08:40,p,pass",
        )
        .matings(
            "at,end_face_a,end_face_b,demated_at
            2026-03-02 08:10,q,p,2026-03-02 08:30",
        )
        .derive();
    assert_eq!(seen.starts("p"), ["2026-03-02 08:00:00", "2026-03-02 08:20:00"]);
}

#[test]
fn v1_an_unreadable_look_starts_extends_and_splits_nothing() {
    let seen = fleet()
        .looks(
            "at,end_face,stage,outcome
            2026-03-02 06:00,p,installation,unreadable
            2026-03-02 08:00,p,installation,fail
            2026-03-02 12:00,p,incoming,unreadable
            2026-03-02 15:00,p,installation,unreadable
            2026-03-02 16:00:01,p,installation,pass
            2026-03-03 09:00,q,installation,unreadable",
        )
        .derive();
    assert_eq!(seen.starts("p"), ["2026-03-02 08:00:00", "2026-03-02 16:00:01"]);
    assert!(seen.of_face("q").is_empty());
    assert_eq!(seen.derived.counts.first_pass.unreadable.total().unreadable, 4);
}

/// Cycles as method, tool given, cleanings, whether the closing look passed.
fn cycles(seen: &Seen) -> Vec<(String, bool, u32, bool)> {
    let visit = seen.visit("p");
    let of = |cycle: &Cycle| {
        let passed = cycle.closed_by == Look::Pass;
        (seen.method(cycle.method).to_owned(), cycle.tool != 0, cycle.cleanings, passed)
    };
    visit.cycles.iter().map(of).collect()
}

#[test]
fn v2_a_cycle_is_closed_by_the_first_readable_look_and_a_second_look_closes_none() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome
            2026-03-02 08:00,p,fail
            2026-03-02 08:11,p,unreadable
            2026-03-02 08:12,p,fail
            2026-03-02 08:13,p,fail
            2026-03-02 08:22,p,pass",
        )
        .cleanings(
            "at,end_face,method
            2026-03-02 08:10,p,dry
            2026-03-02 08:20,p,wet-dry",
        )
        .derive();
    let expected = [("dry".into(), false, 1, false), ("wet-dry".into(), false, 1, true)];
    assert_eq!(cycles(&seen), expected);
}

#[test]
fn v2_cleanings_without_a_look_between_are_one_cycle_of_their_method_else_mixed() {
    let rows = |second: &str| {
        fleet()
            .looks("at,end_face,outcome\n2026-03-02 08:00,p,fail\n2026-03-02 08:30,p,pass")
            .cleanings(&format!(
                "at,end_face,method,tool
                2026-03-02 08:10,p,dry,T1
                2026-03-02 08:20,p,{second}"
            ))
            .derive()
    };
    assert_eq!(cycles(&rows("dry,T1")), [("dry".into(), true, 2, true)]);
    assert_eq!(cycles(&rows("dry,T2")), [("dry".into(), false, 2, true)]);
    assert_eq!(cycles(&rows("wet,T1")), [("mixed".into(), false, 2, true)]);
    assert_eq!(rows("wet,T1").visit("p").cleanings, 2);
}

#[test]
fn v2_a_cleaning_without_a_later_look_in_the_visit_is_no_cycle() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-03-02 08:00,p,fail\n2026-03-02 18:00,p,pass")
        .cleanings("at,end_face\n2026-03-02 08:10,p")
        .derive();
    let visits = seen.of_face("p");
    assert_eq!((visits[0].cycles.len(), visits[0].cleanings), (0, 1));
    assert_eq!((visits[1].cycles.len(), visits[1].passed_at), (0, Some(0)));
}

#[test]
fn v3_the_first_outcome_is_that_of_the_first_event_and_capped_that_of_the_first_look() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome,finding,zone,capped
            2026-03-02 08:00,p,fail,contamination,B,yes
            2026-03-02 08:10,p,pass,,,no
            2026-03-02 08:20,q,pass,,,no
            2026-03-02 08:30,r,fail,,,",
        )
        .cleanings("at,end_face\n2026-03-02 08:15,q")
        .derive();
    let p = seen.visit("p");
    assert_eq!(p.first, Some(Look::Fail(Finding::Contamination)));
    assert_eq!((p.first_zone, p.capped, p.cleaned_unseen()), (2, Some(true), false));
    let q = seen.visit("q");
    assert_eq!((q.first, q.capped, q.cleaned_unseen()), (None, Some(false), true));
    let r = seen.visit("r");
    assert_eq!((r.first, r.capped), (Some(Look::Fail(Finding::Unknown)), None));
    assert_eq!(seen.derived.counts.first_pass.findings_missing, 1);
}

/// `passed_at`, and the cycles before a pass that closed none.
fn passed(events: &str) -> (Option<u32>, Option<u32>) {
    let seen = worked(events);
    let visit = seen.visit("p");
    (visit.passed_at, visit.pass_without_cycle)
}

#[test]
fn v4_passed_at_is_the_first_passing_look_that_closed_a_cycle_or_began_the_visit() {
    assert_eq!(passed("p"), (Some(0), None));
    assert_eq!(passed("pcf"), (Some(0), None));
    assert_eq!(passed("fcp"), (Some(1), None));
    assert_eq!(passed("cp"), (Some(1), None));
    assert_eq!(passed("fcfccp"), (Some(2), None));
    assert_eq!(passed("fcpcfcp"), (Some(1), None));
    assert_eq!(passed("fcf"), (None, None));
    assert_eq!(passed("fc"), (None, None));
}

#[test]
fn v4_a_first_pass_on_a_look_that_closed_no_cycle_gives_none() {
    assert_eq!(passed("fp"), (None, Some(0)));
    assert_eq!(passed("fcfp"), (None, Some(1)));
    assert_eq!(passed("fcfpcp"), (None, Some(1)));
}
