//! Passages between visits (4.4) and second looks (5.6).
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::counts::{Cap, passage_weeks};

use super::fleet::{Fleet, fleet};
use super::seen::{Seen, figures};

/// Passages as `from>stage kind`, with passages, clean, dirty, matings, seconds.
fn passages(seen: &Seen) -> Vec<(String, [i64; 5])> {
    let word = |code: u32| seen.derived.glossary.stage.0.word(code).to_owned();
    let cells = seen.derived.counts.entry.passages.cells();
    let told = cells.into_iter().map(|(cell, row)| {
        let kind = cell.kind.word();
        (format!("{}>{} {kind}", word(cell.from.0), word(cell.stage.0)), figures(row))
    });
    let mut told: Vec<(String, [i64; 5])> = told.collect();
    told.sort();
    told
}

fn looks(rows: &str) -> Fleet {
    fleet().looks(&format!("at,end_face,stage,outcome,finding,capped\n{rows}"))
}

const HOUR: i64 = 3600;

#[test]
fn a_passage_runs_from_the_end_of_a_passed_visit_to_the_first_look_of_the_next() {
    let seen = looks(
        "2026-03-02 08:00,p,incoming,fail,contamination,yes
        2026-03-02 08:10,p,incoming,pass,,yes
        2026-03-03 08:10,p,installation,fail,contamination,yes
        2026-03-03 09:10,p,installation,pass,,yes
        2026-03-05 09:10,p,installation,pass,,",
    )
    .derive();
    let expected = [
        ("incoming>installation routine".to_owned(), [1, 0, 1, 0, 24 * HOUR]),
        ("installation>installation routine".to_owned(), [1, 1, 0, 0, 48 * HOUR]),
    ];
    assert_eq!(passages(&seen), expected);
    // The cap is that of the later visit's first look: capped, and not recorded.
    let mut caps: Vec<Cap> =
        seen.derived.counts.entry.weeks.cells().iter().map(|(cell, _)| cell.capped).collect();
    caps.sort_unstable();
    assert_eq!(caps, [Cap::Unknown, Cap::Capped]);
}

#[test]
fn what_is_no_passage_is_counted_with_its_first_reason() {
    let seen = looks(
        "2026-03-02 08:00,p,installation,fail,contamination,
        2026-03-04 08:00,p,installation,pass,,
        2026-03-06 08:00,p,incoming,pass,,
        2026-03-08 08:00,p,installation,fail,defect,
        2026-03-02 08:00,q,installation,pass,,
        2026-03-04 08:20,q,installation,pass,,
        2026-03-06 08:00,q,installation,fail,,",
    )
    .cleanings("at,end_face\n2026-03-04 08:10,q")
    .derive();
    let kinds: Vec<(String, i64)> =
        passages(&seen).into_iter().map(|(kind, row)| (kind, row[0])).collect();
    let expected = [
        ("incoming>installation failed-otherwise", 1),
        ("installation>incoming to-an-earlier-stage", 1),
        ("installation>installation cleaned-unseen", 1),
        ("installation>installation failed-otherwise", 1),
        ("installation>installation not-known-clean", 1),
    ];
    assert_eq!(kinds, expected.map(|(kind, n)| (kind.to_owned(), n)));
    // Neither clean nor dirty: nobody can say.
    let total = seen.derived.counts.entry.passages.total();
    assert_eq!((total.passages, total.clean, total.dirty), (5, 0, 0));
    assert!(seen.derived.counts.entry.weeks.total() == passage_weeks::Row::default());
}

#[test]
fn a_visit_left_failing_or_rejected_or_unverified_leaves_nothing_known_clean() {
    let seen = looks(
        "2026-03-02 08:00,p,installation,pass,,
        2026-03-03 08:00,p,installation,pass,,",
    )
    .cleanings("at,end_face\n2026-03-02 08:10,p")
    .derive();
    assert_eq!(passages(&seen)[0].0, "installation>installation not-known-clean");
    let rejected = fleet()
        .looks(
            "at,end_face,outcome,disposition
            2026-03-02 08:00,p,pass,reject
            2026-03-03 08:00,p,pass,",
        )
        .derive();
    assert_eq!(passages(&rejected)[0].0, "installation>installation not-known-clean");
}

#[test]
fn a_fault_prompts_the_passage_that_ends_with_its_visit() {
    let rows = "2026-03-02 08:00,p,installation,pass,,
        2026-03-04 08:00,p,installation,fail,contamination,
        2026-03-04 08:10,p,installation,pass,,
        2026-03-09 08:00,p,installation,pass,,";
    let seen =
        looks(rows).faults("opened,cleared,end_face\n2026-03-04 07:00,2026-03-04 12:00,p").derive();
    let kinds: Vec<String> = passages(&seen).into_iter().map(|(kind, _)| kind).collect();
    assert_eq!(kinds, ["installation>installation prompted", "installation>installation routine"]);
    let prompted = passages(&seen)[0].1;
    assert_eq!((prompted[1], prompted[2]), (0, 1));
    // Only the routine one is measured.
    assert_eq!(figures(seen.derived.counts.entry.weeks.total()), [1, 0]);
    assert_eq!(seen.derived.counts.entry.loads.total().passages, 1);
}

#[test]
fn matings_and_days_between_are_summed_and_classed() {
    let seen = looks(
        "2026-03-02 08:00,p,installation,pass,,
        2026-03-09 08:00,p,installation,pass,,
        2026-03-09 20:00,p,installation,pass,,",
    )
    .matings(
        "at,end_face_a,end_face_b
        2026-03-01 09:00,p,q
        2026-03-02 09:00,p,q
        2026-03-03 09:00,p,r
        2026-03-10 09:00,p,r",
    )
    .derive();
    let cells = seen.derived.counts.entry.loads.cells();
    let told: Vec<(&str, &str, [i64; 4])> = cells
        .into_iter()
        .map(|(cell, row)| (cell.matings.word(), cell.days.word(), figures(row)))
        .collect();
    // The mating before the first visit is of no passage. Seven days begin the class after them.
    let expected =
        [("0", "under 1", [1, 0, 0, 12 * HOUR]), ("2", "to 14", [1, 0, 2, 7 * 24 * HOUR])];
    assert_eq!(told, expected);
}

#[test]
fn passages_outside_the_look_back_are_counted_and_measured_by_nobody() {
    let seen = looks(
        "2024-03-02 08:00,p,installation,pass,,
        2024-03-09 08:00,p,installation,pass,,
        2026-05-09 08:00,p,installation,pass,,",
    )
    .review("2026-Q2")
    .derive();
    let entry = &seen.derived.counts.entry;
    let weeks = (figures(entry.weeks.off_table()), figures(entry.weeks.total()));
    assert_eq!(weeks, ([1, 0], [2, 0]));
    assert_eq!(entry.passages.total().passages, 2);
}

/// Second looks and those failing, of looks at these minutes: p passes, f fails for contamination, d for a
/// defect, c is a cleaning.
fn second(events: &[(&str, char)]) -> [i64; 2] {
    let mut looks = "at,end_face,outcome,finding\n2026-03-01 08:00,x,pass,".to_owned();
    let mut wipes = "at,end_face\n2026-02-28 08:00,x".to_owned();
    for (time, event) in events {
        let at = format!("\n2026-03-02 {time},p");
        match event {
            'c' => wipes += &at,
            'p' => looks += &format!("{at},pass,"),
            'd' => looks += &format!("{at},fail,defect"),
            _ => looks += &format!("{at},fail,contamination"),
        }
    }
    let seen = fleet().looks(&looks).cleanings(&wipes).derive();
    figures(seen.derived.counts.entry.second_looks.total())
}

#[test]
fn second_looks_follow_a_pass_with_nothing_between_within_an_hour() {
    assert_eq!(second(&[("08:00", 'p'), ("08:10", 'p'), ("09:10", 'f')]), [2, 1]);
    assert_eq!(second(&[("08:00", 'p'), ("09:01", 'f')]), [0, 0], "more than an hour");
    assert_eq!(second(&[("08:00", 'f'), ("08:10", 'p'), ("08:20", 'p')]), [1, 0], "after a fail");
    assert_eq!(second(&[("08:00", 'p'), ("08:10", 'c'), ("08:20", 'f')]), [0, 0], "a cleaning");
    assert_eq!(second(&[("08:00", 'p'), ("08:10", 'd')]), [0, 0], "a defect is no alarm of dirt");
}

#[test]
fn looks_known_to_the_day_are_no_second_looks() {
    let seen =
        fleet().looks("at,seq,end_face,outcome\n2026-03-02,1,p,pass\n2026-03-02,2,p,fail").derive();
    assert_eq!(figures(seen.derived.counts.entry.second_looks.total()), [0, 0]);
}
