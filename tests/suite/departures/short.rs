//! Records that are fewer, not wrong: only the last months are left, or not every ticket.

use motetrail::measures::Flag;
use motetrail::synth::Departures;

use super::{Exports, count, least_held, planted_ratio, recipe, seeds};

fn short(months: u32) -> Departures {
    Departures { short: Some(months), ..Departures::default() }
}

#[test]
fn what_is_left_is_what_the_truth_counts() {
    let exports = Exports::of(&recipe(1, short(3)));
    let truth = &exports.truth;
    assert_eq!((truth.from.as_str(), truth.to.as_str()), ("2026-04-01", "2026-06-30"));
    let reviewed = exports.review();
    assert!(reviewed.taken.unread.is_empty() && reviewed.derived.empty_fault_sources.is_empty());
    assert!(
        !reviewed.is_flagged(Flag::GuessedCover),
        "the settings state the cover of what is left"
    );
    let loaded: u64 = reviewed.accounts.iter().map(|account| account.rows.loaded).sum();
    let counts = &truth.counts;
    let all = counts.inspections + counts.cleanings + counts.matings + counts.faults;
    assert_eq!(loaded, all);
    let whole = Exports::of(&recipe(1, Departures::default())).truth;
    assert!(counts.inspections * 4 < whole.counts.inspections, "{counts:?}");
}

#[test]
fn tickets_lost_whatever_their_matings_leave_the_planted_ratio() {
    let sound = Exports::of(&recipe(1, Departures::default())).truth;
    let exports = Exports::of(&recipe(1, Departures { lost: Some(0.3), ..Departures::default() }));
    let truth = &exports.truth;
    assert_eq!(truth.counts.matings, sound.counts.matings);
    let left = truth.counts.faults as f64 / sound.counts.faults as f64;
    assert!((0.65..0.75).contains(&left), "{left}");
    assert_eq!(planted_ratio(truth), planted_ratio(&sound));
    assert!(exports.review().ratio_holds(planted_ratio(truth)));
}

#[test]
fn the_planted_ratio_of_clean_fleets_is_mostly_inside() {
    let seeds = seeds(4);
    let tried = seeds.end - seeds.start;
    let held = count(seeds, Departures::default, |truth, reviewed| {
        reviewed.ratio_holds(planted_ratio(truth))
    });
    assert!(held >= least_held(tried), "{held} of {tried}");
}
