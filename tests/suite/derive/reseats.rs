//! C3: reseats, and matings shortly after a fault.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use super::fleet::{Fleet, fleet};

/// Two matings, the first taken apart at noon of 15 March.
fn twice(demated: &str, second: &str) -> Fleet {
    fleet().matings(&format!(
        "record,at,end_face_a,end_face_b,demated_at
        M1,2026-03-01 08:00,p,q,{demated}
        M2,{second},"
    ))
}

fn is_reseat(fleet: Fleet) -> bool {
    let seen = fleet.derive();
    assert!(!seen.matings[1].reseat);
    seen.matings[0].reseat
}

#[test]
fn c3_the_same_two_ends_joined_again_exactly_24_hours_later_are_a_reseat() {
    let noon = "2026-03-15 12:00:00";
    assert!(is_reseat(twice(noon, "2026-03-16 12:00:00,p,q")));
    assert!(is_reseat(twice(noon, "2026-03-16 12:00:00,q,p")));
    assert!(is_reseat(twice(noon, "2026-03-15 12:00:00,p,q")));
    assert!(!is_reseat(twice(noon, "2026-03-16 12:00:01,p,q")));
}

#[test]
fn c3_other_partners_or_no_recorded_demating_are_no_reseat() {
    assert!(!is_reseat(twice("2026-03-15 12:00", "2026-03-15 13:00,p,r")));
    assert!(!is_reseat(twice("", "2026-03-15 13:00,p,q")));
    assert!(!is_reseat(twice("2026-03-15 12:00", "2026-03-15 13:00,p,")));
}

#[test]
fn c3_each_end_must_be_the_others_next_mating() {
    let seen = fleet()
        .matings(
            "at,end_face_a,end_face_b,demated_at
            2026-03-01 08:00,p,q,2026-03-15 12:00
            2026-03-15 12:10,q,r,2026-03-15 12:20
            2026-03-15 12:30,p,q,",
        )
        .derive();
    let reseats: Vec<bool> = seen.matings.iter().map(|mating| mating.reseat).collect();
    assert_eq!(reseats, [false, false, false]);
}

#[test]
fn c3_a_fault_from_24_hours_before_the_demating_on_blocks_a_reseat() {
    let with = |opened: &str| {
        let fleet = twice("2026-03-15 12:00:00", "2026-03-15 13:00,p,q");
        is_reseat(fleet.faults(&format!("opened,mating\n{opened},M1")))
    };
    assert!(!with("2026-03-14 12:00:00"));
    assert!(with("2026-03-14 11:59:59"));
    assert!(!with("2026-03-15 12:30:00"));
    assert!(!with("2026-03-30 12:00:00"));
}

#[test]
fn c3_a_reseat_goes_by_the_time_at_which_the_fault_counts() {
    // Opened as a ticket an hour after the rejoining: lagged, it counts on M1 at its end.
    let fleet = twice("2026-03-15 12:00:00", "2026-03-15 13:00,p,q")
        .faults("opened,end_face\n2026-03-15 14:00,p");
    assert!(!is_reseat(fleet));
}

#[test]
fn c3_a_ticket_merged_into_an_earlier_one_still_speaks_against_a_reseat() {
    // 30 and 20 hours before the demating: one fault, that counts at the first.
    let with = |tickets: &str| {
        let fleet = twice("2026-03-15 12:00:00", "2026-03-15 13:00,p,q");
        is_reseat(fleet.faults(&format!("opened,mating\n{tickets}")))
    };
    assert!(with("2026-03-14 06:00,M1"));
    assert!(!with("2026-03-14 06:00,M1\n2026-03-14 16:00,M1"));
    // Three, and the last one is the only one inside the day before.
    assert!(!with("2026-03-13 13:00,M1\n2026-03-13 20:00,M1\n2026-03-14 12:00,M1"));
    assert!(with("2026-03-13 13:00,M1\n2026-03-13 20:00,M1\n2026-03-14 11:59,M1"));
}

/// Whether the mating of `p` and `q` at noon of 15 April is after a fault.
fn after(faults: &str) -> bool {
    let seen = fleet()
        .matings(
            "record,at,end_face_a,end_face_b
            M1,2026-01-01 08:00,p,r
            M2,2026-04-15 12:00:00,p,q",
        )
        .faults(faults)
        .derive();
    seen.matings[1].after_fault
}

#[test]
fn c3_a_mating_exactly_30_days_after_a_fault_on_either_end_is_after_it() {
    assert!(after("opened,end_face\n2026-03-16 12:00:00,q"));
    assert!(!after("opened,end_face\n2026-03-16 11:59:59,q"));
    assert!(after("opened,end_face\n2026-03-16 12:00:00,p"));
    assert!(!after("opened,end_face\n2026-04-10 12:00:00,x"));
    assert!(!after("opened,end_face\n2026-04-15 12:00:01,q"));
}

#[test]
fn c3_a_fault_of_any_cause_counts_and_reaches_both_ends_of_its_mating() {
    assert!(after("opened,end_face,cause\n2026-04-10 12:00:00,r,break"));
    assert!(after("opened,mating,cause\n2026-04-10 12:00:00,M1,equipment"));
}

#[test]
fn c3_a_mating_is_not_after_its_own_fault() {
    // Known to the day, the fault that names M2 counts at M2's own time.
    assert!(!after("opened,mating\n2026-04-15,M2"));
    // A fault of the mating before it at that very instant does come before it.
    assert!(after("opened,end_face\n2026-04-15 12:00:00,p"));
}

#[test]
fn c3_merged_tickets_count_at_the_first() {
    // Tickets 20 hours apart are one fault, at the first: 30 days and 10 hours before the mating.
    assert!(!after("opened,mating\n2026-03-16 02:00,M1\n2026-03-16 22:00,M1"));
}
