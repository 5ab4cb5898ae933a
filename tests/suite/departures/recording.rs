//! Recording that follows what it records: the truth lies within the bounds shown for what was planted, and the checks of
//! trust are silent where nothing was.
//!
//! Planted so that the ratio comes out at some .7 to .8, .8 and 1.5 of what skipping does.

use std::cell::Cell;

use motetrail::measures::trust::{Quantity, Recording, Row};
use motetrail::measures::{AnyRow, Flag};
use motetrail::synth::{Departures, Truth};

use super::{Reviewed, count, planted_ratio, seeds};

/// Share of passing looks that is planted as left out, one of those that are shown.
const LEFT_OUT: f64 = 0.2;
/// Odds of a look with dirt that are planted, one of those that are shown.
const ODDS: f64 = 3.0;
/// Share of tickets that is planted as lost: the ratio comes out half as large again.
const LOST: f64 = 1.0 / 3.0;

fn passing_unrecorded() -> Departures {
    Departures { passing_unrecorded: Some(LEFT_OUT), ..Departures::default() }
}

/// Looks skipped more readily in some quarters, as in [`looks_chosen`], but without regard to dirt.
fn looks_swing() -> Departures {
    Departures { looks_swing: Some(0.3), ..Departures::default() }
}

fn looks_chosen() -> Departures {
    Departures { looks_chosen: Some(ODDS), ..looks_swing() }
}

fn tickets_lost() -> Departures {
    Departures { tickets_lost: Some(LOST), ..Departures::default() }
}

fn of(reviewed: &Reviewed) -> impl Iterator<Item = &Row> {
    reviewed.review.trust.rows.iter().filter(|row| row.own.recording.is_some())
}

/// Whether a check of this fault speaks.
fn speaks(reviewed: &Reviewed, fault: Recording) -> bool {
    of(reviewed).any(|row| row.own.recording == Some(fault) && row.own.suspected == Some(true))
}

fn is_silent(_: &Truth, reviewed: &Reviewed) -> bool {
    !of(reviewed).any(|row| row.own.suspected == Some(true))
}

/// Whether the planted ratio lies within the bounds shown for a statement.
fn bounds_hold(truth: &Truth, reviewed: &Reviewed, fault: Recording, stated: f64) -> bool {
    let shown = of(reviewed).find(|row| {
        row.quantity == Quantity::RatioIf
            && row.own.recording == Some(fault)
            && row.own.stated == Some(stated)
    });
    let row = shown.expect("what was planted is one of the statements");
    let planted = planted_ratio(truth);
    row.low.is_some_and(|low| low <= planted) && row.high.is_some_and(|high| planted <= high)
}

/// How many of the fleets tried must keep a claim that nine of ten keep: of few, most.
fn nine_of_ten(tried: u64) -> u64 {
    if tried < 10 { tried.saturating_sub(1) } else { tried * 9 / 10 }
}

/// Tries a claim on fleets with a departure, and says how often it held.
fn claimed(
    words: &str,
    few: u64,
    departures: impl Fn() -> Departures,
    claim: impl Fn(&Truth, &Reviewed) -> bool,
) -> (u64, u64) {
    let seeds = seeds(few);
    let tried = seeds.end - seeds.start;
    let held = count(seeds, departures, claim);
    println!("{words}: {held} of {tried}");
    (held, tried)
}

/// How often a check of this fault speaks is printed and claimed nowhere: in a year of eight sites mostly none does.
fn truth_in_bounds(
    words: &str,
    (fault, stated): (Recording, f64),
    departures: impl Fn() -> Departures,
) {
    let spoke = Cell::new(0);
    let (held, tried) = claimed(words, 2, departures, |truth, reviewed| {
        spoke.set(spoke.get() + u32::from(speaks(reviewed, fault)));
        bounds_hold(truth, reviewed, fault, stated)
    });
    println!("{words}: a check spoke in {} of {tried}", spoke.get());
    assert!(held >= nine_of_ten(tried), "{held} of {tried}");
}

#[test]
fn the_truth_lies_within_the_bounds_shown_for_the_passing_looks_left_out() {
    let stated = (Recording::PassingUnrecorded, LEFT_OUT);
    truth_in_bounds(
        "passing looks left out: the truth within the bounds",
        stated,
        passing_unrecorded,
    );
}

#[test]
fn the_truth_lies_within_the_bounds_shown_for_the_odds_by_which_looks_are_chosen() {
    let stated = (Recording::LooksChosen, ODDS);
    truth_in_bounds("looks chosen: the truth within the bounds", stated, looks_chosen);
}

#[test]
fn tickets_lost_by_coverage_flag_the_headline_or_leave_the_truth_inside_its_interval() {
    let words = "tickets lost: a check or the control speaks, or the truth in the interval";
    let (held, tried) = claimed(words, 2, tickets_lost, |truth, reviewed| {
        let headline = reviewed.review.skipped_cost.headline().expect("a ratio of the fleet");
        speaks(reviewed, Recording::TicketsLost)
            || headline.leading().flags.contains(&Flag::Confounded)
            || reviewed.ratio_holds(planted_ratio(truth))
    });
    assert!(held >= nine_of_ten(tried), "{held} of {tried}");
}

#[test]
fn clean_fleets_are_not_suspected() {
    let (held, tried) = claimed("clean: silent", 2, Departures::default, is_silent);
    assert!(held * 100 >= tried * 98, "{held} of {tried}");
}

#[test]
fn fewer_looks_in_some_quarters_are_no_choice() {
    let (held, tried) = claimed("fewer looks in some quarters: silent", 1, looks_swing, is_silent);
    assert!(held * 100 >= tried * 98, "{held} of {tried}");
}
