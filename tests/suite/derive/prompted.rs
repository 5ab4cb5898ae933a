//! V7: visits with a fault behind them, and visits that come again.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use super::fleet::{Fleet, fleet};

/// One look at `p` at noon of 15 March, and the faults shown.
fn noon(faults: &str) -> bool {
    prompted(fleet().faults(faults))
}

fn prompted(fleet: Fleet) -> bool {
    let rows = "at,end_face,work_order,outcome\n2026-03-15 12:00:00,p,W1,fail";
    fleet.looks(rows).derive().visit("p").prompted
}

#[test]
fn v7_a_fault_open_at_the_start_prompts() {
    // Until before it was cleared: at that very instant it is open no more.
    assert!(noon("opened,cleared,end_face\n2026-03-01 09:00,2026-03-15 12:00:01,p"));
    assert!(!noon("opened,cleared,end_face\n2026-03-01 09:00,2026-03-15 12:00:00,p"));
    assert!(!noon("opened,cleared,end_face\n2026-03-01 09:00,2026-03-20 12:00,q"));
}

#[test]
fn v7_a_fault_opened_within_24_hours_after_the_start_prompts() {
    assert!(noon("opened,cleared,end_face\n2026-03-16 12:00:00,2026-03-20 12:00,p"));
    assert!(!noon("opened,cleared,end_face\n2026-03-16 12:00:01,2026-03-20 12:00,p"));
}

#[test]
fn v7_a_fault_never_cleared_is_open_until_before_30_days_have_passed() {
    assert!(noon("opened,end_face\n2026-02-13 12:00:01,p"));
    assert!(!noon("opened,end_face\n2026-02-13 12:00:00,p"));
}

#[test]
fn v7_a_fault_cleared_on_a_day_is_open_to_its_end() {
    assert!(noon("opened,cleared,end_face\n2026-03-01 09:00,2026-03-15,p"));
    assert!(!noon("opened,cleared,end_face\n2026-03-01 09:00,2026-03-14,p"));
}

#[test]
fn v7_a_fault_of_the_same_work_order_prompts_at_any_distance_and_on_any_end_face() {
    let header = "opened,cleared,end_face,work_order";
    assert!(noon(&format!("{header}\n2026-01-05 09:00,2026-01-05 10:00,p,W1")));
    assert!(!noon(&format!("{header}\n2026-01-05 09:00,2026-01-05 10:00,p,W2")));
    // The replacement of a repair: the ticket names the end face that was replaced, or none.
    assert!(noon(&format!("{header}\n2026-01-05 09:00,2026-01-05 10:00,q,W1")));
    assert!(noon(&format!("{header}\n2026-01-05 09:00,2026-01-05 10:00,,W1")));
    assert!(!noon(&format!("{header}\n2026-01-05 09:00,2026-01-05 10:00,q,")));
}

#[test]
fn v7_no_work_order_is_not_one_that_is_shared() {
    let rows = "at,end_face,work_order,outcome\n2026-03-15 12:00:00,p,,fail";
    let tickets = "opened,cleared,end_face,work_order\n2026-01-05 09:00,2026-01-05 10:00,q,";
    assert!(!fleet().looks(rows).faults(tickets).derive().visit("p").prompted);
}

#[test]
fn v7_a_work_order_of_another_site_is_another_one() {
    let prompted = |site: &str| {
        let looks = "at,site,end_face,work_order,outcome\n2026-03-15 12:00:00,Works,p,W1,fail";
        let row = format!("2026-01-05 09:00,2026-01-05 10:00,{site},q,W1");
        let tickets = format!("opened,cleared,site,end_face,work_order\n{row}");
        let seen = fleet().looks(looks).faults(&tickets).derive();
        seen.visit("p").prompted
    };
    assert_eq!([prompted("Works"), prompted("Depot")], [true, false]);
}

#[test]
fn v7_a_ticket_of_the_day_of_the_mating_it_names_is_open_from_the_mating_on() {
    // The ticket knows the day alone; the mating it names was made at two in the afternoon.
    let look = |at: &str, cleared: &str, named: &str| {
        let seen = fleet()
            .looks(&format!("at,end_face,outcome\n{at},p,fail"))
            .matings("record,at,end_face_a,end_face_b\nM1,2026-03-15 14:00:00,q,r")
            .faults(&format!("opened,cleared,end_face,mating\n2026-03-15,{cleared},p,{named}"))
            .derive();
        seen.visit("p").prompted
    };
    // More than a day before the mating, yet within one of the day's start.
    assert!(!look("2026-03-14 13:59:59", "2026-03-15 16:00", "M1"));
    assert!(look("2026-03-14 14:00:00", "2026-03-15 16:00", "M1"));
    assert!(look("2026-03-14 13:59:59", "2026-03-15 16:00", ""));
    // Never cleared, it is open until before 30 days after the mating.
    assert!(look("2026-04-14 13:59:59", "", "M1"));
    assert!(!look("2026-04-14 14:00:00", "", "M1"));
    assert!(!look("2026-04-14 13:59:59", "", ""));
}

/// Two matings of `p`, the later one at `second`.
fn mated(second: &str) -> Fleet {
    fleet().matings(&format!(
        "record,at,end_face_a,end_face_b
        M1,2026-03-01 08:00,p,q
        M2,{second},p,r"
    ))
}

#[test]
fn v7_a_fault_on_the_last_mating_before_the_visit_prompts() {
    let named = "opened,cleared,mating\n2026-03-14 09:00,2026-03-20 10:00,";
    let before = "2026-03-10 08:00";
    assert!(prompted(mated(before).faults(&format!("{named}M2"))));
    assert!(!prompted(mated(before).faults(&format!("{named}M1"))));
    let after = "2026-03-18 08:00";
    assert!(prompted(mated(after).faults(&format!("{named}M1"))));
    assert!(!prompted(mated(after).faults(&format!("{named}M2"))));
}

#[test]
fn v7_a_fault_on_the_other_end_reaches_the_visit_through_the_mating() {
    let on_partner = "opened,cleared,end_face\n2026-03-14 09:00,2026-03-20 10:00,r";
    assert!(prompted(mated("2026-03-10 08:00").faults(on_partner)));
    let on_earlier_partner = "opened,cleared,end_face\n2026-03-09 09:00,2026-03-20 10:00,q";
    assert!(!prompted(mated("2026-03-10 08:00").faults(on_earlier_partner)));
}

#[test]
fn v7_prompted_goes_by_opened_as_written_even_where_the_fault_is_lagged() {
    // Opened two hours after M2 replaced M1: it counts on M1 at 08:00, but it was opened at 10:00.
    let fleet = mated("2026-03-15 08:00")
        .faults("opened,cleared,end_face\n2026-03-15 10:00,2026-03-15 11:00,p");
    assert!(!prompted(fleet));
    let fleet = mated("2026-03-15 08:00")
        .faults("opened,cleared,end_face\n2026-03-15 10:00,2026-03-15 12:00:01,p");
    assert!(prompted(fleet));
}

/// Whether the second of two looks at `p`, 1 and 20 March, comes again.
fn again(fleet: Fleet, stage: &str) -> bool {
    let seen = fleet
        .looks(&format!(
            "at,end_face,stage,outcome
            2026-03-01 12:00,p,installation,pass
            2026-03-20 12:00,p,{stage},pass"
        ))
        .derive();
    let visits = seen.of_face("p");
    assert!(!visits[0].again && visits[0].first_recorded && !visits[1].first_recorded);
    visits[1].again
}

fn between(at: &str, demated: &str) -> Fleet {
    fleet().matings(&format!("at,end_face_a,end_face_b,demated_at\n{at},p,q,{demated}"))
}

#[test]
fn v7_the_same_stage_again_with_no_mating_between() {
    assert!(again(fleet(), "installation"));
    assert!(!again(fleet(), "change"));
}

#[test]
fn v7_a_mating_of_a_week_between_is_not_again_and_a_shorter_one_is() {
    assert!(!again(between("2026-03-02 08:00:00", "2026-03-09 08:00:00"), "installation"));
    assert!(again(between("2026-03-02 08:00:00", "2026-03-09 07:59:59"), "installation"));
    // Before the earlier visit it does not lie between.
    assert!(again(between("2026-02-01 08:00", "2026-02-20 08:00"), "installation"));
}

#[test]
fn v7_a_mating_without_demating_lasts_to_the_next_mating_or_the_visit() {
    assert!(!again(between("2026-03-13 12:00:00", ""), "installation"));
    assert!(again(between("2026-03-13 12:00:01", ""), "installation"));
    let two = |second: &str| {
        fleet().matings(&format!(
            "at,end_face_a,end_face_b
            2026-03-07 12:00:00,p,q
            {second},p,r"
        ))
    };
    assert!(again(two("2026-03-14 11:59:59"), "installation"));
    assert!(!again(two("2026-03-14 12:00:00"), "installation"));
}
