//! Tickets stamped after the repair: the planted ratio is held, or the flag is there. Repairs that leave dirt must not
//! be taken for late tickets, and sound fleets must not be flagged.

use motetrail::derive::LAGS_HOURS;
use motetrail::measures::skipped_cost::{By, Quantity, Row};
use motetrail::measures::{Flag, trust};
use motetrail::synth::Departures;

use super::{Exports, Reviewed, planted_ratio, recipe, seeds};

/// What came of one fleet.
struct Tried {
    /// The planted ratio lies inside the headline's interval.
    held: bool,
    /// The headline carries the flag.
    flagged: bool,
    /// The windows of all sources, hours.
    windows: Vec<u32>,
}

/// Invents and reviews fleets with departures.
fn tried(few: u64, departures: impl Fn() -> Departures) -> Vec<Tried> {
    let one = |seed| {
        let exports = Exports::of(&recipe(seed, departures()));
        let (planted, reviewed) = (planted_ratio(&exports.truth), exports.review());
        let headline = reviewed.review.skipped_cost.headline().unwrap();
        let held = reviewed.ratio_holds(planted);
        let flagged = headline.flags.contains(&Flag::LateTickets);
        let windows = windows(&reviewed);
        Tried { held, flagged, windows }
    };
    seeds(few).map(one).collect()
}

fn windows(reviewed: &Reviewed) -> Vec<u32> {
    let rows = reviewed.review.trust.quantity(trust::Quantity::TicketWindow);
    let windows: Vec<u32> = rows.map(|row| row.estimate.unwrap() as u32).collect();
    assert!(!windows.is_empty(), "there are tickets");
    windows
}

/// Of fleets, those for which something holds, in tenths of all, rounded down.
fn tenths(tried: &[Tried], holds: impl Fn(&Tried) -> bool) -> usize {
    tried.iter().filter(|fleet| holds(fleet)).count() * 10 / tried.len()
}

/// Nine of ten hold the planted ratio or carry the flag.
fn held_or_flagged(tried: &[Tried]) {
    let count = |holds: fn(&Tried) -> bool| tried.iter().filter(|fleet| holds(fleet)).count();
    let (held, flagged, all) =
        (count(|fleet| fleet.held), count(|fleet| fleet.flagged), tried.len());
    let either = count(|fleet| fleet.held || fleet.flagged);
    println!("of {all}: {held} held, {flagged} flagged");
    assert!(either * 10 >= all * 9, "of {all}: {held} held, {flagged} flagged");
}

#[test]
fn sound_fleets_are_not_flagged_and_their_windows_are_the_usual_ones() {
    let tried = tried(3, Departures::default);
    let flagged = tried.iter().filter(|fleet| fleet.flagged).count();
    println!("of {}: {flagged} flagged", tried.len());
    assert!(flagged * 100 <= tried.len(), "{flagged} of {}", tried.len());
    assert_eq!(tenths(&tried, |fleet| fleet.windows.iter().all(|hours| *hours == 12)), 10);
}

#[test]
fn late_tickets_that_name_their_mating_move_the_window() {
    let tried = tried(2, || Departures { late: Some(1.0), ..Departures::default() });
    held_or_flagged(&tried);
    assert!(tenths(&tried, |fleet| fleet.windows.iter().all(|hours| *hours == 36)) >= 9);
}

#[test]
fn late_tickets_that_name_ports_alone_are_held_or_flagged() {
    let late = || Departures { late: Some(1.0), by_port: Some(1.0), ..Departures::default() };
    held_or_flagged(&tried(2, late));
}

#[test]
fn half_of_the_tickets_late_and_none_that_names_a_mating_are_held_or_flagged() {
    let late = || Departures { late: Some(0.5), by_port: Some(1.0), ..Departures::default() };
    held_or_flagged(&tried(2, late));
}

#[test]
fn tickets_late_mostly_by_hours_are_held_or_flagged() {
    let late = || Departures { late_log: Some(1.0), ..Departures::default() };
    held_or_flagged(&tried(2, late));
}

#[test]
fn repairs_that_leave_dirt_move_no_window_and_the_planted_ratio_is_held() {
    let tried = tried(2, || Departures { bad_repairs: Some(0.4), ..Departures::default() });
    assert!(tenths(&tried, |fleet| fleet.held) >= 9);
    assert!(tried.iter().all(|fleet| fleet.windows.iter().all(|hours| *hours == 12)));
}

/// The difference that other windows make is counted for the few matings that tickets touch. Counted again whole, with
/// the window stated, the same must come out.
#[test]
fn the_headline_under_another_window_is_what_stating_the_window_gives() {
    let exports =
        Exports::of(&recipe(3, Departures { by_port: Some(0.5), ..Departures::default() }));
    let usual = exports.review();
    for hours in LAGS_HOURS {
        let stated = exports
            .review_under(|settings| format!("{settings}\n[rules]\nticket_lag_hours = {hours}\n"));
        let headline = stated.review.skipped_cost.headline().unwrap();
        let mut others = usual.review.skipped_cost.quantity(Quantity::Sensitivity);
        let wanted =
            |row: &&Row| row.own.variant.and_then(|rule| rule.ticket_window()) == Some(hours);
        let Some(other) = others.find(wanted) else {
            assert_eq!(
                windows(&usual),
                [hours].repeat(windows(&usual).len()),
                "no row: it is the rule"
            );
            continue;
        };
        assert_eq!(other.events, headline.events, "{hours} h");
        assert!((other.n - headline.n).abs() < 1e-6 * headline.n, "{hours} h");
        assert_eq!(other.own.faults_skipped, headline.own.faults_skipped, "{hours} h");
        let mut savings = stated.review.skipped_cost.rows_of(By::Fleet, Quantity::NetSaving);
        assert_eq!(other.own.fault_cost, savings.next().unwrap().own.fault_cost, "{hours} h");
    }
}
