//! F2: which mating a ticket belongs to.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::How;

use super::fleet::{Fleet, fleet};
use super::seen::{Seen, time};

/// Every attached fault as mating (place in the export), time and how.
fn attached(seen: &Seen) -> Vec<(usize, String, How)> {
    let mut all = Vec::new();
    for (number, mating) in seen.matings.iter().enumerate() {
        all.extend(mating.faults.iter().map(|fault| (number, time(fault.at), fault.how)));
    }
    all
}

/// Three matings of `p`, one after the other, and a look in June.
fn three() -> Fleet {
    fleet().looks("at,end_face,outcome\n2026-06-01 08:00,x,pass").matings(
        "record,at,end_face_a,end_face_b,demated_at
            M1,2026-01-01 08:00,p,q,2026-02-01 08:00:00
            M2,2026-02-08 08:00:00,p,r,2026-03-01 08:00:00
            M3,2026-03-08 08:00:01,p,s,",
    )
}

fn place(fault: &str) -> Vec<(usize, String, How)> {
    attached(&three().faults(&format!("opened,end_face,mating\n{fault}")).derive())
}

/// How many faults found no mating in this way.
fn unattached(seen: &Seen, how: How) -> i64 {
    let cells = seen.derived.counts.faults.cells();
    cells.iter().filter(|(cell, _)| cell.how == how).map(|(_, row)| row.faults).sum()
}

const AMBIGUOUS: How = How::Ambiguous;
const UNATTACHED: How = How::Unattached;

#[test]
fn f2_a_ticket_that_names_a_mating_attaches_to_it_whatever_its_end_face() {
    let found = place("2026-03-20 08:00,p,M1");
    assert_eq!(found, [(0, "2026-03-20 08:00:00".into(), How::ByRecord)]);
}

#[test]
fn f2_a_ticket_that_names_an_end_face_attaches_to_the_mating_in_force() {
    let by_face = |at: &str, number| [(number, format!("{at}:00"), How::ByEndFace)];
    assert_eq!(place("2026-01-20 08:00,p,"), by_face("2026-01-20 08:00", 0));
    assert_eq!(place("2026-01-20 08:00,q,"), by_face("2026-01-20 08:00", 0));
    assert_eq!(place("2026-02-20 08:00,p,"), by_face("2026-02-20 08:00", 1));
    assert_eq!(place("2026-04-20 08:00,s,"), by_face("2026-04-20 08:00", 2));
    // A record that nobody wrote falls back on the end face too.
    assert_eq!(place("2026-02-20 08:00,p,M9"), by_face("2026-02-20 08:00", 1));
}

#[test]
fn f2_both_ends_of_the_time_in_force_belong_to_it() {
    assert_eq!(place("2026-01-01 08:00:00,q,").len(), 1);
    assert_eq!(place("2026-02-01 08:00:00,q,").len(), 1);
    assert_eq!(place("2026-01-01 07:59:59,q,").len(), 0);
    assert_eq!(place("2026-02-01 08:00:01,q,").len(), 0);
}

#[test]
fn f2_between_two_matings_a_ticket_is_unattached_and_counted() {
    let seen = three().faults("opened,end_face\n2026-02-03 08:00,p\n2026-02-03 08:00,y").derive();
    assert_eq!(attached(&seen), []);
    assert_eq!(unattached(&seen, UNATTACHED), 2);
}

#[test]
fn f2_a_ticket_that_names_neither_mating_nor_end_face_is_unattached_and_counted() {
    let rows = "opened,end_face,mating,cause,cost
        2026-02-20 08:00,,,contamination,7.00
        2026-02-21 08:00,p,,contamination,1.00";
    let seen = three().faults(rows).derive();
    assert_eq!(attached(&seen), [(1, "2026-02-21 08:00:00".into(), How::ByEndFace)]);
    assert_eq!(unattached(&seen, UNATTACHED), 1);
    let total = seen.derived.counts.faults.total();
    assert_eq!((total.faults, total.tickets), (2, 2));
}

#[test]
fn f2_a_ticket_that_names_neither_moves_the_months_that_its_source_covers() {
    // By default a source covers the whole months from its first ticket to its last.
    let covered = |second: &str| {
        let rows = format!("opened,end_face,mating\n2026-01-10 08:00,p,\n{second}");
        let seen = three().source("tickets", "faults", &rows, "").derive();
        seen.matings[0].at_risk.clone()
    };
    let day = |at: Option<[String; 2]>| at.map(|[_, to]| to);
    let alone = day(covered("2026-01-20 08:00,p,"));
    let nameless = day(covered("2026-03-20 08:00,,"));
    assert_eq!(alone.as_deref(), Some("2026-01-31 23:59:59.999999"));
    assert_eq!(nameless.as_deref(), Some("2026-02-01 08:00:00"));
}

#[test]
fn f2_a_ticket_less_than_12_hours_after_a_replacement_belongs_to_the_one_replaced_at_its_end() {
    let lagged = [(0, "2026-02-01 08:00:00".into(), How::Lagged)];
    assert_eq!(place("2026-02-08 19:59:59,p,"), lagged);
    assert_eq!(place("2026-02-08 08:00:00,p,"), lagged);
    let own = [(1, "2026-02-08 20:00:00".into(), How::ByEndFace)];
    assert_eq!(place("2026-02-08 20:00:00,p,"), own);
    // The other end was never mated before: nothing was replaced there.
    assert_eq!(place("2026-02-08 19:59:59,r,")[0].2, How::ByEndFace);
}

#[test]
fn f2_a_mating_replaced_more_than_7_days_before_is_not_blamed() {
    // M3 begins 7 days and a second after the end of M2.
    let own = [(2, "2026-03-08 09:00:00".into(), How::ByEndFace)];
    assert_eq!(place("2026-03-08 09:00,p,"), own);
}

#[test]
fn f2_of_two_matings_that_touch_the_earlier_has_the_ticket() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-06-01 08:00,x,pass")
        .matings(
            "at,end_face_a,end_face_b
            2026-01-01 08:00,p,q
            2026-02-01 08:00,p,r",
        )
        .faults("opened,end_face\n2026-02-01 08:00,p")
        .derive();
    assert_eq!(attached(&seen), [(0, "2026-02-01 08:00:00".into(), How::ByEndFace)]);
}

/// The same record twice at the works, once at the depot.
fn namesakes(fault: &str) -> Seen {
    fleet()
        .looks("at,end_face,outcome\n2026-06-01 08:00,x,pass")
        .source(
            "bench",
            "matings",
            "record,at,site,end_face_a,end_face_b
            M1,2026-01-01 08:00,Works,p,q
            M2,2026-01-01 08:00,Depot,r,s",
            "",
        )
        .source(
            "desk",
            "matings",
            "record,at,site,end_face_a,end_face_b
            M1,2026-01-01 08:00,Works,t,u
            M1,2026-01-01 08:00,Depot,v,w",
            "",
        )
        .source("tickets", "faults", &format!("opened,site,end_face,mating\n{fault}"), "")
        .derive()
}

#[test]
fn f2_a_record_ambiguous_within_its_site_falls_back_on_the_end_face() {
    let seen = namesakes("2026-02-01 08:00,Works,t,M1");
    assert_eq!(attached(&seen), [(2, "2026-02-01 08:00:00".into(), How::ByEndFace)]);
    assert_eq!(seen.derived.ambiguous, 1);
    let seen = namesakes("2026-02-01 08:00,Works,,M1");
    assert_eq!((attached(&seen).len(), unattached(&seen, AMBIGUOUS)), (0, 1));
    let seen = namesakes("2026-02-01 08:00,Works,x,M1");
    assert_eq!((attached(&seen).len(), unattached(&seen, AMBIGUOUS)), (0, 1));
}

#[test]
fn f2_the_same_record_at_another_site_is_another_mating() {
    let seen = namesakes("2026-02-01 08:00,Depot,,M1");
    assert_eq!(attached(&seen), [(3, "2026-02-01 08:00:00".into(), How::ByRecord)]);
    let seen = namesakes("2026-02-01 08:00,Works,,M2");
    assert_eq!((attached(&seen).len(), unattached(&seen, UNATTACHED)), (0, 1));
}

#[test]
fn f2_a_fault_outside_the_time_in_force_is_attached_counted_and_no_event() {
    let fault = "opened,mating,cause\n2026-02-03 08:00,M1,contamination";
    let seen = three().faults(fault).derive();
    assert_eq!(attached(&seen).len(), 1);
    let counts = &seen.derived.counts;
    assert_eq!(counts.followed.follow_up.total().linked, 0);
    assert_eq!(counts.rates.in_force.total().linked, 0);
    assert_eq!(counts.faults.total().outside, 1);
}

#[test]
fn a_fault_belongs_to_the_quarter_in_which_it_was_opened_even_where_it_is_lagged() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-06-01 08:00,x,pass")
        .matings(
            "at,end_face_a,end_face_b,demated_at
            2026-01-01 08:00,p,q,2026-03-31 20:00
            2026-04-01 06:00,p,r,",
        )
        .faults("opened,end_face\n2026-04-01 08:00,p")
        .derive();
    assert_eq!(attached(&seen), [(0, "2026-03-31 20:00:00".into(), How::Lagged)]);
    let cells = seen.derived.counts.faults.cells();
    assert_eq!(seen.derived.calendar.quarter(cells[0].0.quarter.0).to_string(), "2026-Q2");
}
