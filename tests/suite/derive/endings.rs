//! V5 and V6: how visits end, and cleanings of what was clean.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::counts::cleanings;
use motetrail::derive::{CleanedWhileClean, Ending, Look};
use motetrail::records::Finding;

use super::fleet::fleet;
use super::minutes::worked;

fn ending(events: &str) -> Ending {
    worked(events).visit("p").ending
}

#[test]
fn v5_a_cleaning_at_the_end_leaves_the_visit_unverified() {
    assert_eq!(ending("c"), Ending::Unverified);
    assert_eq!(ending("fc"), Ending::Unverified);
    assert_eq!(ending("fcpc"), Ending::Unverified);
}

#[test]
fn v5_a_look_at_the_end_passes_or_leaves_failing() {
    assert_eq!(ending("p"), Ending::Passed);
    assert_eq!(ending("fcp"), Ending::Passed);
    assert_eq!(ending("pf"), Ending::LeftFailing);
    assert_eq!(ending("fcf"), Ending::LeftFailing);
    assert_eq!(ending("fcI"), Ending::LeftFailing);
}

#[test]
fn v5_a_disposition_on_the_last_look_rejects() {
    assert_eq!(ending("R"), Ending::Rejected);
    assert_eq!(ending("fcR"), Ending::Rejected);
    assert_eq!(ending("fcP"), Ending::Rejected);
}

#[test]
fn v5_an_earlier_disposition_followed_by_work_is_no_ending() {
    assert_eq!(ending("Rcp"), Ending::Passed);
    assert_eq!(ending("Rc"), Ending::Unverified);
    assert_eq!(ending("Rf"), Ending::LeftFailing);
}

#[test]
fn v5_a_reject_on_an_unreadable_look_counts_as_the_last_look() {
    assert_eq!(ending("fU"), Ending::Rejected);
    assert_eq!(ending("fcU"), Ending::Rejected);
    assert_eq!(ending("pU"), Ending::Rejected);
}

#[test]
fn v5_an_unreadable_look_without_a_reject_changes_no_ending() {
    assert_eq!(ending("fcu"), Ending::Unverified);
    assert_eq!(ending("pu"), Ending::Passed);
    assert_eq!(ending("Ru"), Ending::Rejected);
    assert_eq!(ending("fUcp"), Ending::Passed);
}

#[test]
fn v5_a_reject_on_an_unreadable_look_after_the_visit_is_over_rejects_nothing() {
    let ending = |at: &str, stage: &str| {
        let seen = fleet()
            .looks(&format!(
                "at,end_face,stage,outcome,disposition
                2026-03-02 08:00:00,p,installation,fail,
                {at},p,{stage},unreadable,reject"
            ))
            .derive();
        seen.visit("p").ending
    };
    assert_eq!(ending("2026-03-02 16:00:00", "installation"), Ending::Rejected);
    assert_eq!(ending("2026-03-02 16:00:01", "installation"), Ending::LeftFailing);
    assert_eq!(ending("2026-03-02 08:10:00", "change"), Ending::LeftFailing);
}

#[test]
fn v5_rejects_are_counted_by_visit() {
    let seen = worked("fcR");
    assert_eq!(seen.derived.counts.first_pass.visits.total().rejects, 1);
}

/// What was cleaned while clean: the look after each, if any.
fn while_clean(events: &str) -> Vec<Option<Look>> {
    let seen = worked(events);
    let of = |cleaned: &CleanedWhileClean| cleaned.then;
    seen.visit("p").cleaned_while_clean.iter().map(of).collect()
}

#[test]
fn v6_a_cleaning_right_after_a_passing_look_is_cleaned_while_clean() {
    assert_eq!(while_clean("pcp"), [Some(Look::Pass)]);
    assert_eq!(while_clean("pc"), [None]);
    assert_eq!(while_clean("pcf"), [Some(Look::Fail(Finding::Unknown))]);
    assert_eq!(while_clean("pcpcf"), [Some(Look::Pass), Some(Look::Fail(Finding::Unknown))]);
}

#[test]
fn v6_a_second_cleaning_with_no_look_between_is_not_counted_again() {
    assert_eq!(while_clean("pccp"), [Some(Look::Pass)]);
}

#[test]
fn v6_a_cleaning_after_a_failing_look_or_none_is_not_counted() {
    assert_eq!(while_clean("fcp"), []);
    assert_eq!(while_clean("cp"), []);
    assert_eq!(while_clean("pfcp"), []);
    assert_eq!(while_clean("puc"), [None]);
}

#[test]
fn v6_soiled_cleanings_are_counted_among_those_with_a_closing_look() {
    let seen = worked("pcfcpc");
    // Cleaned while clean twice: the first was seen and soiled, the second nobody saw. The cycle
    // between began on a fail and passed.
    let expected = cleanings::Row {
        cycles: 1,
        passed: 1,
        contaminated: 0,
        defective: 0,
        cleanings: 1,
        while_clean: 2,
        while_clean_seen: 1,
        soiled: 1,
    };
    assert_eq!(seen.derived.counts.cleaning.cleanings.total(), expected);
}
