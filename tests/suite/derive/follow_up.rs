//! F1 and F4: how long a mating is followed, and in which band its faults fall.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use super::fleet::{Fleet, fleet};
use super::seen::Seen;

const START: &str = "2026-01-10 12:00:00";

/// A mating of `p` and `q` on 10 January, further rows of matings, and a look in December so that
/// the period ends with the year.
fn mated(demated: &str, more: &str) -> Fleet {
    fleet().looks("at,end_face,outcome\n2026-12-01 08:00,x,pass").matings(&format!(
        "record,at,end_face_a,end_face_b,demated_at
            M1,{START},p,q,{demated}
            {more}"
    ))
}

/// From and to of the first mating's time at risk.
fn at_risk(fleet: Fleet) -> Option<[String; 2]> {
    fleet.derive().matings[0].at_risk.clone()
}

fn to(end: &str) -> Option<[String; 2]> {
    Some([START.to_owned(), end.to_owned()])
}

const FAR: &str = "opened,end_face\n2026-12-01 08:00,x";

#[test]
fn f1_follow_up_ends_at_the_horizon_at_the_latest() {
    let fleet = || mated("", "").faults(FAR);
    assert_eq!(at_risk(fleet()), to("2026-04-10 12:00:00"));
    let longer = fleet().also("[rules]\nhorizon_days = 180");
    assert_eq!(at_risk(longer), to("2026-07-09 12:00:00"));
}

#[test]
fn f1_follow_up_ends_at_the_demating() {
    let fleet = mated("2026-02-01 09:00", "").faults(FAR);
    assert_eq!(at_risk(fleet), to("2026-02-01 09:00:00"));
}

#[test]
fn f1_follow_up_ends_at_the_next_mating_of_either_end() {
    for next in ["p,r", "r,p", "q,r", "r,q"] {
        let fleet = mated("", &format!("M2,2026-02-02 09:00,{next},")).faults(FAR);
        assert_eq!(at_risk(fleet), to("2026-02-02 09:00:00"), "{next}");
    }
}

#[test]
fn f1_follow_up_ends_when_either_end_leaves_service() {
    for face in ["p", "q"] {
        let register = format!("end_face,in_service_to\n{face},2026-02-03 09:00");
        let fleet = mated("", "").register(&register).faults(FAR);
        assert_eq!(at_risk(fleet), to("2026-02-03 09:00:00"));
    }
    let by_day = mated("", "").register("end_face,in_service_to\np,2026-02-03").faults(FAR);
    assert_eq!(at_risk(by_day), to("2026-02-03 23:59:59.999999"));
}

/// A fault source with this cover and a fault on another end face.
fn covered(fleet: Fleet, from: &str, to: &str) -> Fleet {
    let keys = format!("covers.faults = {{ from = {from:?}, to = {to:?} }}");
    fleet.source("tickets", "faults", FAR, &keys)
}

#[test]
fn f1_follow_up_lies_inside_the_fault_sources_cover() {
    let fleet = covered(mated("", ""), "2026-01-01", "2026-02-04");
    assert_eq!(at_risk(fleet), to("2026-02-04 23:59:59.999999"));
    let late = at_risk(covered(mated("", ""), "2026-02-01", "2026-12-31"));
    assert_eq!(late, Some(["2026-02-01 00:00:00".into(), "2026-04-10 12:00:00".into()]));
    assert_eq!(at_risk(covered(mated("", ""), "2026-05-01", "2026-12-31")), None);
    assert_eq!(at_risk(covered(mated("", ""), "2025-01-01", "2025-12-31")), None);
}

#[test]
fn f1_follow_up_is_cut_at_the_periods_end() {
    let fleet = mated("", "").faults(FAR).review("2026-Q1");
    assert_eq!(at_risk(fleet), to("2026-03-31 23:59:59.999999"));
}

#[test]
fn f1_without_the_horizon_the_mating_is_observed_to_its_end() {
    let seen = mated("2026-09-01 09:00", "").faults(FAR).derive();
    assert_eq!(seen.matings[0].observed, to("2026-09-01 09:00:00"));
    assert_eq!(seen.matings[0].in_force_end, "2026-09-01 09:00:00");
}

#[test]
fn f1_a_site_without_a_fault_source_is_never_at_risk() {
    let seen = mated("", "").derive();
    assert_eq!((&seen.matings[0].at_risk, &seen.matings[0].observed), (&None, &None));
}

/// The linked faults and seconds of the follow-up, in every band that has any.
fn bands(seen: &Seen) -> Vec<(u32, i64, i64)> {
    let cells = seen.derived.counts.followed.follow_up.cells();
    let by_band = cells.iter().map(|(cell, row)| (cell.band.0, row.linked, row.linked_s));
    by_band.filter(|(_, linked, seconds)| (*linked, *seconds) != (0, 0)).collect()
}

const DAY: i64 = 86_400;

#[test]
fn f4_a_whole_follow_up_spends_7_23_and_60_days_in_the_bands() {
    let seen = mated("", "").faults(FAR).derive();
    assert_eq!(bands(&seen), [(0, 0, 7 * DAY), (1, 0, 23 * DAY), (2, 0, 60 * DAY)]);
}

#[test]
fn f4_a_fault_on_an_edge_falls_in_the_band_that_begins_there_and_the_last_holds_its_end() {
    let with = |opened: &str| {
        let fault = format!("opened,mating,cause\n{opened},M1,contamination");
        bands(&mated("", "").faults(&fault).derive())
    };
    let first = [(0, 1, 7 * DAY - 1)];
    assert_eq!(with("2026-01-17 11:59:59"), first);
    assert_eq!(with("2026-01-17 12:00:00"), [(0, 0, 7 * DAY), (1, 1, 0)]);
    let second = [(0, 0, 7 * DAY), (1, 1, 23 * DAY - 1)];
    assert_eq!(with("2026-02-09 11:59:59"), second);
    let third = [(0, 0, 7 * DAY), (1, 0, 23 * DAY), (2, 1, 0)];
    assert_eq!(with("2026-02-09 12:00:00"), third);
    let at_the_end = [(0, 0, 7 * DAY), (1, 0, 23 * DAY), (2, 1, 60 * DAY)];
    assert_eq!(with("2026-04-10 12:00:00"), at_the_end);
    let none = [(0, 0, 7 * DAY), (1, 0, 23 * DAY), (2, 0, 60 * DAY)];
    assert_eq!(with("2026-04-10 12:00:01"), none);
}

#[test]
fn f1_a_fault_at_the_mating_itself_is_an_event() {
    let fault = format!("opened,mating,cause\n{START},M1,contamination");
    assert_eq!(bands(&mated("", "").faults(&fault).derive()), [(0, 1, 0)]);
}

#[test]
fn f1_dark_stages_are_left_out_of_the_follow_up_and_counted_off_the_table() {
    let rows = "record,at,stage,end_face_a,end_face_b\nM1,2026-01-10 12:00,incoming,p,q";
    let seen = fleet().matings(rows).faults("opened,mating\n2026-01-11 12:00,M1").derive();
    let counts = &seen.derived.counts;
    assert!(counts.followed.follow_up.is_empty() && counts.rates.in_force.is_empty());
    let off = (counts.followed.follow_up.off_table(), counts.rates.in_force.off_table());
    assert_eq!((off.0.started, off.1.matings), (1, 1));
}

#[test]
fn in_force_time_is_cut_into_calendar_quarters() {
    // 10 January noon to 15 April noon: 80.5 days in the first quarter, 14.5 in the second.
    let seen = mated("2026-04-15 12:00", "").faults(FAR).derive();
    let seconds: Vec<i64> =
        seen.derived.counts.rates.in_force.cells().iter().map(|(_, row)| row.linked_s).collect();
    assert_eq!(seconds, [80 * DAY + DAY / 2, 14 * DAY + DAY / 2]);
}
