//! What trust is counted from (5.10): looks taken twice, end faces and the register, faults soon after matings with
//! both ends seen.
//!
//! Source of every expected value: the sentences of 5.10, applied by hand to the rows shown.

use motetrail::derive::counts::{GradedBy, end_faces, escapes, look_pairs};

use super::fleet::{Fleet, fleet};
use super::seen::Seen;

const DAY_S: i64 = 86_400;

/// Pairs, and of them those that passed twice, passed then failed, failed then passed.
fn pairs(seen: &Seen) -> [i64; 4] {
    let look_pairs::Row { pairs, both_passed, then_failed, then_passed } =
        seen.derived.counts.trust.look_pairs.total();
    [pairs, both_passed, then_failed, then_passed]
}

fn looks(rows: &str) -> Fleet {
    fleet().looks(&format!("at,end_face,inspector,instrument,outcome\n{rows}"))
}

#[test]
fn two_looks_by_different_people_or_instruments_are_a_pair() {
    let seen = looks(
        "2026-03-02 08:00,a,ada,m1,pass
        2026-03-02 08:15,a,bea,m1,fail
        2026-03-02 08:00,b,ada,m1,fail
        2026-03-02 08:01,b,ada,m2,pass
        2026-03-02 08:00,c,ada,,pass
        2026-03-02 08:05,c,bea,,pass
        2026-03-02 08:00,d,,m1,fail
        2026-03-02 08:05,d,,m2,fail",
    );
    assert_eq!(pairs(&seen.derive()), [4, 1, 1, 1]);
}

#[test]
fn looks_of_one_person_and_instrument_or_of_unknown_ones_are_none() {
    let seen = looks(
        "2026-03-02 08:00,a,ada,m1,pass
        2026-03-02 08:05,a,ada,m1,fail
        2026-03-02 08:00,b,ada,,pass
        2026-03-02 08:05,b,,m1,fail
        2026-03-02 08:00,c,,,pass
        2026-03-02 08:05,c,,,fail",
    );
    assert_eq!(pairs(&seen.derive()), [0; 4]);
}

#[test]
fn looks_more_than_a_quarter_of_an_hour_apart_are_none() {
    let seen = looks("2026-03-02 08:00,a,ada,m1,pass\n2026-03-02 08:16,a,bea,m1,fail");
    assert_eq!(pairs(&seen.derive()), [0; 4]);
}

#[test]
fn each_look_is_in_one_pair_and_an_unreadable_one_in_none() {
    let seen = looks(
        "2026-03-02 08:00,a,ada,m1,pass
        2026-03-02 08:04,a,bea,m1,pass
        2026-03-02 08:08,a,ada,m1,fail
        2026-03-02 08:00,b,ada,m1,fail
        2026-03-02 08:04,b,cleo,m1,unreadable
        2026-03-02 08:08,b,bea,m1,pass",
    );
    // Of a the third look has none to be paired with; of b what is unreadable is no look.
    assert_eq!(pairs(&seen.derive()), [2, 1, 0, 1]);
}

#[test]
fn a_look_of_the_same_person_begins_anew() {
    let seen = looks(
        "2026-03-02 08:00,a,ada,m1,pass
        2026-03-02 08:04,a,ada,m1,fail
        2026-03-02 08:08,a,bea,m1,fail",
    );
    assert_eq!(pairs(&seen.derive()), [1, 0, 0, 0]);
}

#[test]
fn a_cleaning_a_mating_or_a_demating_parts_two_looks() {
    let two = |face: &str| {
        format!("2026-03-02 08:00,{face},ada,m1,pass\n2026-03-02 08:10,{face},bea,m1,fail\n")
    };
    let seen = looks(&["a", "b", "c", "d"].map(two).concat())
        .cleanings("at,end_face\n2026-03-02 08:05,a")
        .matings(
            "at,demated_at,end_face_a,end_face_b
            2026-03-02 08:05,,b,x
            2026-03-01 08:00,2026-03-02 08:05,c,y",
        );
    // Nothing stands between the looks at d alone.
    assert_eq!(pairs(&seen.derive()), [1, 0, 1, 0]);
}

#[test]
fn looks_known_to_the_day_are_no_pair() {
    let seen = looks("2026-03-02,a,ada,m1,pass\n2026-03-02,a,bea,m1,fail");
    assert_eq!(pairs(&seen.derive()), [0; 4]);
}

#[test]
fn end_faces_are_counted_once_by_what_names_them() {
    let seen = fleet()
        .register("end_face,family\na,LC\nb,LC\nidle,LC\nidle2,LC")
        .looks("at,end_face,outcome\n2026-03-02 08:00,a,pass\n2026-03-03 08:00,a,pass\n2026-03-03 08:00,c,pass")
        .cleanings("at,end_face\n2026-03-02 08:05,b")
        .matings("at,end_face_a,end_face_b\n2026-03-05 08:00,a,d")
        .derive();
    let expected = end_faces::Row { named: 4, registered: 2, only_registered: 2 };
    assert_eq!(seen.derived.counts.trust.end_faces.total(), expected);
}

/// By criteria and grading: matings, first linked faults, days at risk.
fn escaped(seen: &Seen) -> Vec<(String, &'static str, i64, i64, i64)> {
    let names = &seen.derived.glossary.criteria.0;
    let mut found: std::collections::BTreeMap<(String, GradedBy), escapes::Row> =
        Default::default();
    for (cell, row) in seen.derived.counts.trust.escapes.cells() {
        let key = (names.word(cell.criteria.0).to_owned(), cell.grading);
        let sum = found.entry(key).or_default();
        sum.started += row.started;
        sum.faults += row.faults;
        sum.seconds += row.seconds;
    }
    let line = |((criteria, grading), row): ((String, GradedBy), escapes::Row)| {
        (criteria, grading.word(), row.started, row.faults, row.seconds / DAY_S)
    };
    found.into_iter().map(line).collect()
}

#[test]
fn escapes_go_by_what_the_last_looks_at_both_ends_were_judged_by() {
    let seen = fleet()
        .looks(
            "at,end_face,criteria,grading,outcome
            2026-01-05 08:00,a,strict,manual,pass
            2026-01-05 09:00,a,plain,automatic,pass
            2026-01-05 09:00,b,plain,automatic,pass
            2026-01-05 09:00,c,strict,manual,pass
            2026-01-05 09:00,d,plain,automatic,pass
            2026-01-05 09:00,e,strict,manual,pass",
        )
        .matings(
            "at,end_face_a,end_face_b
            2026-01-05 10:00,a,b
            2026-01-05 10:00,c,d
            2026-01-05 10:00,e,f",
        )
        .faults(
            "opened,end_face,cause
            2026-01-25 10:00,a,contamination
            2026-02-10 10:00,c,contamination",
        )
        .derive();
    // The fault of c came after more than thirty days; e was mated with an end that nobody had seen.
    let expected =
        [("mixed".to_owned(), "mixed", 1, 0, 30), ("plain".to_owned(), "automatic", 1, 1, 20)];
    assert_eq!(escaped(&seen), expected);
}

#[test]
fn faults_and_ends_of_service_known_to_the_day_are_counted() {
    let seen = fleet()
        .register("end_face,in_service_to\na,2026-03-01\nb,2026-03-01 08:00\nc,")
        .looks("at,end_face,outcome\n2026-01-02 08:00,a,pass")
        .faults("opened,end_face,cause\n2026-02-25,a,contamination\n2026-02-26 10:00,a,break\n2026-02-27,a,break")
        .derive();
    let precision = seen.derived.precision;
    assert_eq!((precision.faults, precision.end_faces), ((2, 3), (1, 2)));
}

#[test]
fn looks_that_failed_are_counted_with_all_looks() {
    let seen = looks(
        "2026-03-02 08:00,a,ada,m1,pass\n2026-03-02 09:00,a,ada,m1,fail\n2026-03-02 10:00,a,ada,m1,unreadable",
    );
    let row = seen.derive().derived.counts.first_pass.unreadable.total();
    assert_eq!((row.looks, row.unreadable, row.failing), (3, 1, 1));
}
