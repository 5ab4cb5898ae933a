//! Records known to the day, and days of 23 and 25 hours.
//!
//! Source of every expected value: section 4's order of events and C1, applied by hand. Clock
//! changes of Vienna in 2026: 29 March and 25 October, at 01:00 UTC (Directive 2000/84/EC).

use motetrail::derive::Precision;

use super::fleet::{Fleet, fleet};

fn mated() -> Fleet {
    fleet()
        .looks("at,end_face,outcome\n2026-06-01 08:00,x,pass")
        .matings("record,at,end_face_a,end_face_b\nM1,2026-02-10 08:00,p,q")
}

#[test]
fn a_fault_opened_on_the_day_of_the_mating_it_names_counts_at_the_mating() {
    let seen = mated().faults("opened,mating\n2026-02-10,M1").derive();
    assert_eq!(seen.matings[0].fault_times(), ["2026-02-10 08:00:00"]);
    assert!(seen.matings[0].faults[0].inside);
}

#[test]
fn a_fault_opened_on_another_day_counts_as_that_days_start() {
    let seen = mated().faults("opened,mating\n2026-02-11,M1\n2026-02-09,M1").derive();
    let times = ["2026-02-09 00:00:00", "2026-02-11 00:00:00"];
    assert_eq!(seen.matings[0].fault_times(), times);
    let inside: Vec<bool> = seen.matings[0].faults.iter().map(|fault| fault.inside).collect();
    assert_eq!(inside, [false, true]);
}

#[test]
fn a_fault_of_a_day_that_names_an_end_face_counts_as_the_days_start() {
    let seen = mated().faults("opened,end_face\n2026-02-11,p\n2026-02-10,p").derive();
    assert_eq!(seen.matings[0].fault_times(), ["2026-02-11 00:00:00"]);
}

#[test]
fn a_fault_cleared_on_a_day_was_restored_at_its_end() {
    let seen = mated().faults("opened,cleared,mating\n2026-02-12 00:00,2026-02-12,M1").derive();
    assert_eq!(seen.matings[0].faults[0].restore_s, Some(86_399));
}

#[test]
fn records_known_to_the_day_are_counted() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-02-10,p,pass\n2026-02-10 08:00,p,pass")
        .cleanings("at,end_face\n2026-02-10,p")
        .matings("at,end_face_a,end_face_b\n2026-02-10,p,q\n2026-02-11 08:00,p,q")
        .derive();
    let expected =
        Precision { looks: (1, 2), cleanings: (1, 1), matings: (1, 2), ..Precision::default() };
    assert_eq!(seen.derived.precision, expected);
    let table = &seen.derived.counts.coverage.matings;
    assert_eq!(table.total().day_only, 1);
}

#[test]
fn the_day_is_one_of_the_maps_zone_and_the_month_one_of_the_fleets() {
    let seen = fleet()
        .source(
            "matings",
            "matings",
            "at,end_face_a,end_face_b\n2026-03-31,p,q",
            "timezone = \"America/New_York\"",
        )
        .review("2026-Q2")
        .derive();
    // Midnight in New York is 04:00 UTC of the next day, in April for a fleet in UTC.
    assert_eq!(seen.matings[0].at, "2026-04-01 03:59:59.999999");
    let cell = seen.derived.counts.coverage.matings.cells()[0].0;
    assert_eq!(seen.derived.calendar.quarter(cell.quarter.0).to_string(), "2026-Q2");
}

/// Coverage of a mating in Vienna on a day, after one look at each end at a local time.
fn vienna(day: &str, look: &str) -> (String, &'static str) {
    let seen = fleet()
        .set("timezone = \"Europe/Vienna\"")
        .looks(&format!(
            "at,end_face,outcome
            2026-01-05 08:00,x,pass
            2026-03-05 08:00,x,pass
            2026-10-05 08:00,x,pass
            {look},p,pass
            {look},q,pass"
        ))
        .matings(&format!("at,end_face_a,end_face_b\n{day},p,q"))
        .derive();
    (seen.matings[0].at.clone(), seen.coverage()[0])
}

#[test]
fn the_window_of_a_day_of_23_hours_begins_24_hours_before_its_midnight() {
    let at = "2026-03-29 21:59:59.999999".to_owned();
    assert_eq!(vienna("2026-03-29", "2026-03-28 00:00:00"), (at.clone(), "both"));
    assert_eq!(vienna("2026-03-29", "2026-03-27 23:59:59"), (at, "none"));
}

#[test]
fn the_window_of_a_day_of_25_hours_begins_24_hours_before_its_midnight() {
    let at = "2026-10-25 22:59:59.999999".to_owned();
    assert_eq!(vienna("2026-10-25", "2026-10-24 00:00:00"), (at.clone(), "both"));
    assert_eq!(vienna("2026-10-25", "2026-10-23 23:59:59"), (at, "none"));
}

#[test]
fn hours_are_hours_across_a_clock_change() {
    // 24 hours before midnight of 30 March it was 23:00 of 28 March in Vienna.
    assert_eq!(vienna("2026-03-30", "2026-03-28 23:00:00").1, "both");
    assert_eq!(vienna("2026-03-30", "2026-03-28 22:59:59").1, "none");
    // V1: from 00:00 to 09:00 local only 8 hours passed.
    let visits = |last: &str| {
        let rows = format!("at,end_face,outcome\n2026-03-29 00:00:00,p,fail\n{last},p,pass");
        let fleet = fleet().set("timezone = \"Europe/Vienna\"").looks(&rows);
        fleet.derive().of_face("p").len()
    };
    assert_eq!([visits("2026-03-29 09:00:00"), visits("2026-03-29 09:00:01")], [1, 2]);
}
