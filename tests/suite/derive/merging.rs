//! F3, R6 and the money: tickets that are one fault, how surely it is linked, what it cost.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::{Definition, Fault};
use motetrail::records::Level;

use super::fleet::{Fleet, fleet};

fn mated() -> Fleet {
    fleet()
        .looks("at,end_face,outcome\n2026-06-01 08:00,x,pass")
        .matings("record,at,end_face_a,end_face_b\nM1,2026-01-01 08:00,p,q")
}

fn faults(csv: &str) -> Vec<Fault> {
    mated().faults(csv).derive().matings[0].faults.clone()
}

#[test]
fn f3_tickets_within_24_hours_of_the_first_are_one_fault() {
    let tickets = |last: &str| {
        let rows = format!(
            "opened,mating
            2026-02-01 08:00:00,M1
            2026-02-01 20:00:00,M1
            {last},M1"
        );
        let faults = faults(&rows);
        faults.iter().map(|fault| fault.tickets).collect::<Vec<u32>>()
    };
    assert_eq!(tickets("2026-02-02 08:00:00"), [3]);
    // 12 hours and a second after the second, but 24 and a second after the first.
    assert_eq!(tickets("2026-02-02 08:00:01"), [2, 1]);
}

#[test]
fn f3_the_fault_has_the_first_time_the_highest_level_its_cause_and_all_costs() {
    let rows = "opened,mating,cause,remedy,cost,downtime_min,cleared
        2026-02-01 08:00,M1,break,,1.50,10,2026-02-01 09:00
        2026-02-01 09:00,M1,contamination,,2.25,20,2026-02-01 13:00
        2026-02-01 10:00,M1,unknown,cleaned,4.00,40,2026-02-01 12:00";
    let seen = mated().faults(rows).derive();
    let fault = &seen.matings[0].faults[0];
    assert_eq!(super::seen::time(fault.at), "2026-02-01 08:00:00");
    assert_eq!((fault.level, fault.control), (Level::Confirmed, false));
    assert_eq!(seen.derived.glossary.cause.0.word(fault.cause), "contamination");
    assert_eq!((fault.cost, fault.downtime_min, fault.tickets), (775, 70, 3));
    assert_eq!(fault.restore_s, Some(4 * 3600));
}

#[test]
fn f3_of_equal_levels_the_first_cause_stands() {
    let rows = "opened,mating,cause\n2026-02-01 08:00,M1,break\n2026-02-01 09:00,M1,bend";
    let seen = mated().faults(rows).derive();
    let fault = &seen.matings[0].faults[0];
    assert_eq!(seen.derived.glossary.cause.0.word(fault.cause), "break");
    assert!(fault.control);
}

#[test]
fn f3_tickets_of_two_matings_or_of_none_stay_apart() {
    let seen = fleet()
        .matings(
            "record,at,end_face_a,end_face_b
            M1,2026-01-01 08:00,p,q
            M2,2026-01-01 08:00,r,s",
        )
        .faults(
            "opened,mating,end_face
            2026-02-01 08:00,M1,
            2026-02-01 08:00,M2,
            2026-02-01 08:00,,x
            2026-02-01 09:00,,x",
        )
        .derive();
    let total = seen.derived.counts.faults.total();
    assert_eq!((total.faults, total.tickets), (4, 4));
}

#[test]
fn f3_rates_count_the_first_linked_fault_and_costs_all() {
    let rows = "opened,mating,cause,cost
        2026-02-01 08:00,M1,contamination,1.00
        2026-02-10 08:00,M1,contamination,10.00";
    let seen = mated().faults(rows).derive();
    let total = seen.derived.counts.followed.follow_up.total();
    // Linked once, after 31 days; two faults costed.
    assert_eq!((total.linked, total.linked_s), (1, 31 * 86_400));
    assert_eq!((total.cost, total.costed), (1100, 2));
}

#[test]
fn follow_up_of_a_level_ends_with_the_first_fault_of_that_level() {
    let rows = "opened,mating,cause,remedy
        2026-01-11 08:00,M1,no-fault-found,reseated
        2026-01-21 08:00,M1,,cleaned
        2026-01-31 08:00,M1,contamination,";
    let total = mated().faults(rows).derive().derived.counts.followed.follow_up.total();
    let days =
        |definition| total.first_faults(definition).map(|(n, seconds)| (n, seconds / 86_400));
    assert_eq!(days(Definition::Linked), Some((1, 20)), "linked: confirmed and probable");
    assert_eq!(days(Definition::Confirmed), Some((1, 30)), "confirmed");
    assert_eq!(days(Definition::Suspect), Some((1, 10)), "suspect and above");
    assert_eq!(days(Definition::Any), Some((1, 10)), "any");
    assert_eq!(days(Definition::Control), Some((0, 90)), "control");
}

#[test]
fn r6_levels_go_by_cause_and_remedy() {
    let level = |cause: &str, remedy: &str| {
        let rows = format!("opened,mating,cause,remedy\n2026-02-01 08:00,M1,{cause},{remedy}");
        faults(&rows)[0].level
    };
    assert_eq!(level("contamination", "replaced"), Level::Confirmed);
    assert_eq!(level("unknown", "cleaned"), Level::Probable);
    assert_eq!(level("", "cleaned"), Level::Probable);
    assert_eq!(level("unknown", "reseated"), Level::None);
    assert_eq!(level("no-fault-found", "cleaned"), Level::Suspect);
    assert_eq!(level("no-fault-found", "reseated"), Level::Suspect);
    assert_eq!(level("no-fault-found", "replaced"), Level::None);
    assert_eq!(level("break", "cleaned"), Level::None);
    assert_eq!(level("end-face-defect", "cleaned"), Level::None);
}

#[test]
fn a_fault_without_a_cost_costs_downtime_labour_and_visits_at_the_fleets_rates() {
    let rates =
        "[costs]\nlook_minutes = 0.0\ncleaning_minutes = 0.0\ncleaning_material = 0.0\nreject = 0.0
        downtime_hour = 60.00
        labour_hour = 30.00
        visit = 5.00";
    let header = "opened,mating,downtime_min,labour_min,visits,cost";
    let cost = |row: &str| {
        let rows = format!("{header}\n2026-02-01 08:00,M1,{row}");
        mated().also(rates).faults(&rows).derive().matings[0].faults[0].cost
    };
    // 10 min at 60.00, 20 min at 30.00, 2 trips at 5.00: 10.00 each.
    assert_eq!(cost("10,20,2,"), 3000);
    assert_eq!(cost("10,20,2,7.00"), 700);
    assert_eq!(cost(",,,"), 0);
}
