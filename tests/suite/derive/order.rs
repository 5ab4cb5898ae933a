//! The order of events at one instant, a clause a case.
//!
//! Source of every expected value: section 4's order, applied by hand to the rows shown.

use motetrail::derive::{Ending, Look};

use super::fleet::{Fleet, fleet};

const NOON: &str = "2026-03-15 12:00:00";

/// A fleet with a look in January, so that the site's looks cover the cases.
fn base() -> Fleet {
    fleet().source("x", "inspections", "at,end_face,outcome\n2026-03-01 08:00,x,pass", "")
}

fn looks(name: &str, rows: &str) -> Fleet {
    base().source(name, "inspections", &format!("at,seq,end_face,outcome\n{rows}"), "")
}

fn wipes(fleet: Fleet, name: &str, rows: &str) -> Fleet {
    fleet.source(name, "cleanings", &format!("at,seq,end_face\n{rows}"), "")
}

#[test]
fn dematings_of_earlier_matings_come_before_looks() {
    let seen = base()
        .looks(&format!("at,end_face,outcome\n{NOON},p,pass\n{NOON},q,pass"))
        .matings(&format!(
            "at,end_face_a,end_face_b,demated_at
            2026-03-10 08:00:00,p,r,{NOON}
            2026-03-15 13:00:00,p,q,"
        ))
        .derive();
    assert_eq!(seen.coverage()[1], "both");
}

#[test]
fn looks_come_before_matings_of_the_same_instant() {
    let seen = looks("looks", &format!("{NOON},9,p,pass\n{NOON},9,q,pass"))
        .matings(&format!("at,seq,end_face_a,end_face_b\n{NOON},1,p,q"))
        .derive();
    assert_eq!(seen.coverage(), ["both"]);
}

#[test]
fn a_source_whose_first_record_is_a_cleaning_comes_before_one_that_begins_with_a_look() {
    // By name the looks would come first, and the end would be cleaned and unseen.
    let fleet = looks("a", &format!("{NOON},1,p,pass"));
    let seen = wipes(fleet, "b", &format!("{NOON},1,p")).derive();
    let visit = seen.visit("p");
    assert!(visit.cleaned_unseen());
    assert_eq!((visit.cycles.len(), visit.ending), (1, Ending::Passed));
}

#[test]
fn of_sources_that_begin_alike_the_first_by_name_comes_first() {
    let two = |first: &str, second: &str| {
        let seen = looks(first, &format!("{NOON},1,p,fail"))
            .source(second, "inspections", &format!("at,seq,end_face,outcome\n{NOON},1,p,pass"), "")
            .derive();
        seen.visit("p").first.unwrap()
    };
    assert!(matches!(two("a", "b"), Look::Fail(_)));
    assert_eq!(two("b", "a"), Look::Pass);
}

/// One source whose rows are looks or, where the outcome is `wiped`, cleanings.
fn bench(rows: &str) -> Fleet {
    let record = |table: &str, more: &str| {
        format!(
            "[[source.record]]\ntable = {table:?}
            when = {{ column = \"said\", {} = [\"wiped\"] }}
            columns = {{ record = \"no\", at = \"at\", seq = \"seq\", end_face = \"end_face\"{more} }}
            dates = {{ at = \"%Y-%m-%d %H:%M:%S\" }}
            constants = {{ stage = \"installation\"{} }}\n",
            if table == "cleanings" { "is" } else { "is_not" },
            if table == "cleanings" { ", method = \"dry\"" } else { "" },
        )
    };
    let text = record("inspections", ", outcome = \"said\"") + &record("cleanings", "");
    fleet().raw("bench", &format!("no,at,seq,end_face,said\n{rows}"), &text)
}

#[test]
fn inside_a_source_seq_decides_then_cleaning_before_look_then_record() {
    let passed_at = |rows: &str| {
        let seen = bench(rows).derive();
        let visit = seen.visit("p");
        (visit.first, visit.cycles.len())
    };
    let look_first = format!("A,{NOON},1,p,pass\nB,{NOON},2,p,wiped\nC,{NOON},3,p,pass");
    assert_eq!(passed_at(&look_first), (Some(Look::Pass), 1));
    let same_seq = format!("A,{NOON},1,p,pass\nB,{NOON},1,p,wiped");
    assert_eq!(passed_at(&same_seq), (None, 1));
    let by_record = |first: &str, second: &str| {
        let rows = format!("{first},{NOON},1,p,pass\n{second},{NOON},1,p,fail");
        passed_at(&rows).0.unwrap()
    };
    assert_eq!(by_record("A", "B"), Look::Pass);
    assert!(matches!(by_record("B", "A"), Look::Fail(_)));
}

#[test]
fn a_row_with_a_cleaning_first_is_a_cleaning_and_then_a_look_even_without_seq() {
    // R2: one row, two records; the cleaning comes first whatever the maps' order.
    let rows = format!("A,{NOON},,p,wiped\nB,{NOON},,p,pass");
    let seen = bench(&rows).derive();
    assert_eq!(seen.visit("p").cycles.len(), 1);
}

#[test]
fn matings_of_one_instant_go_by_seq_each_followed_by_its_own_demating() {
    // p was mated twice at noon and taken apart at once the first time: the second is in force.
    let order = |first: u32, second: u32| {
        let seen = base()
            .matings(&format!(
                "at,seq,end_face_a,end_face_b,demated_at
                {NOON},{first},p,q,{NOON}
                {NOON},{second},p,r,"
            ))
            .derive();
        let ends: Vec<String> = seen.matings.iter().map(|m| m.in_force_end.clone()).collect();
        ends
    };
    assert_eq!(order(1, 2), [NOON, "never"]);
    // The other way round the second one is replaced at once.
    assert_eq!(order(2, 1), [NOON, NOON]);
}

#[test]
fn a_demating_of_the_same_instant_does_not_come_before_its_own_mating() {
    let seen = looks("looks", &format!("{NOON},1,p,pass\n{NOON},1,q,pass"))
        .matings(&format!("at,end_face_a,end_face_b,demated_at\n{NOON},p,q,{NOON}"))
        .derive();
    assert_eq!((seen.coverage()[0], seen.matings[0].in_force_end.as_str()), ("both", NOON));
}

#[test]
fn work_known_to_the_day_counts_as_its_start_and_a_mating_as_its_last_microsecond() {
    let seen = base()
        .looks("at,end_face,outcome\n2026-03-15,p,pass\n2026-03-15 23:59:59,q,pass")
        .cleanings("at,end_face\n2026-03-15 00:00:01,p")
        .matings("at,end_face_a,end_face_b,demated_at\n2026-03-15,p,q,2026-03-15")
        .derive();
    let visit = seen.visit("p");
    assert_eq!((visit.first, visit.ending), (Some(Look::Pass), Ending::Unverified));
    let mating = &seen.matings[0];
    assert_eq!((mating.coverage, mating.unseen), ("one", 1));
    assert_eq!(mating.in_force_end, "2026-03-15 23:59:59.999999");
}

#[test]
fn a_demating_known_to_the_day_counts_as_the_days_start() {
    let seen = base()
        .looks("at,end_face,outcome\n2026-03-20 00:00:00,p,pass")
        .matings(
            "at,end_face_a,end_face_b,demated_at
            2026-03-15 12:00:00,p,q,2026-03-20
            2026-03-20 09:00:00,p,q,",
        )
        .derive();
    assert_eq!(seen.matings[0].in_force_end, "2026-03-20 00:00:00");
    assert_eq!(seen.coverage()[1], "one");
}

#[test]
fn a_demating_known_to_the_day_does_not_come_before_its_own_mating() {
    // At the start of the day it would make the looks of the evening before forgotten.
    let seen = base()
        .looks("at,end_face,outcome\n2026-03-14 23:00,p,pass\n2026-03-14 23:00,q,pass")
        .matings("at,end_face_a,end_face_b,demated_at\n2026-03-15 12:00:00,p,q,2026-03-15")
        .derive();
    assert_eq!((seen.coverage()[0], seen.matings[0].in_force_end.as_str()), ("both", NOON));
}
