//! F3, R6 and the money: tickets that are one fault, how surely it is linked, what it cost.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::{Definition, Fault, PricePart, Stated};
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
    let costs: Vec<Option<i64>> = fault.bills.iter().map(|bill| bill.stated.cost).collect();
    assert_eq!(costs, [Some(150), Some(225), Some(400)]);
    assert_eq!((fault.downtime_min, fault.tickets), (Some(70), 3));
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
    let counts = &seen.derived.counts;
    let total = counts.followed.follow_up.total();
    // Linked once, after 31 days; two faults that cost.
    assert_eq!((total.linked, total.linked_s), (1, 31 * 86_400));
    let price = counts.prices.week_prices.total();
    assert_eq!((price.stated, price.faults, price.tickets), (1100, 2, 2));
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

/// Rates of 60.00 an hour of downtime, 30.00 an hour of labour, 5.00 a trip.
const RATES: &str =
    "[costs]\nlook_minutes = 0.0\ncleaning_minutes = 0.0\ncleaning_material = 0.0\nreject = 0.0
    downtime_hour = 60.00
    labour_hour = 30.00
    visit = 5.00";

/// What a ticket of these minutes, minutes, trips and cost states.
fn stated(costs: &str, row: &str) -> Stated {
    let rows =
        format!("opened,mating,downtime_min,labour_min,visits,cost\n2026-02-01 08:00,M1,{row}");
    mated().also(costs).faults(&rows).derive().matings[0].faults[0].bills[0].stated
}

#[test]
fn a_fault_without_a_cost_states_downtime_labour_and_visits_at_the_fleets_rates() {
    // 10 min at 60.00, 20 min at 30.00, 2 trips at 5.00: 10.00 each.
    assert_eq!(stated(RATES, "10,20,2,").sum(), 3000);
    assert_eq!(stated(RATES, "10,20,2,7.00").sum(), 700);
}

#[test]
fn what_a_ticket_leaves_out_is_unknown_and_no_zero() {
    let nothing = stated(RATES, ",,,");
    assert!(nothing.is_silent() && !nothing.lacks(PricePart::Labour));
    let some = stated(RATES, "10,,0,");
    assert_eq!(some.parts, [Some(1000), None, Some(0)]);
    assert!(some.lacks(PricePart::Labour) && !some.lacks(PricePart::Trips) && !some.is_silent());
    // A stated cost lacks nothing.
    assert!(!stated(RATES, ",,,7.00").lacks(PricePart::Labour));
    // A rate of 0 says nothing of a fault's price.
    assert!(stated("", "10,20,2,").is_silent());
}

#[test]
fn tickets_are_counted_by_what_they_state_and_by_source_also_where_they_are_merged() {
    let rows = "opened,mating,cause,downtime_min,labour_min,visits,cost
        2026-02-01 08:00,M1,contamination,10,20,,
        2026-02-01 09:00,M1,contamination,,,,
        2026-02-01 10:00,M1,contamination,30,,,8.00";
    let seen = mated().also(RATES).faults(rows).derive();
    let cells = seen.derived.counts.prices.week_prices.cells();
    let [(cell, row)] = cells[..] else { panic!("{cells:?}") };
    assert_eq!(seen.derived.glossary.source.0.word(cell.source.0), "tickets");
    assert_eq!((row.faults, row.tickets, row.unpriced), (1, 3, 1));
    // 10.00 and 10.00 of the first, 8.00 of the third.
    assert_eq!(row.stated, 2800);
    assert_eq!(row.part(PricePart::Downtime), [0, 2, 4000]);
    assert_eq!(row.part(PricePart::Labour), [0, 1, 1000]);
    assert_eq!(row.part(PricePart::Trips), [1, 0, 0]);
    assert_eq!(seen.derived.counts.prices.fault_prices.total(), row);
}
