//! Partner exposures, 4.5, clause by clause.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::counts::{CarrierKind, Fate};
use motetrail::derive::{EndState, Exposure, Later};

use super::fleet::{Fleet, fleet};
use super::seen::{Seen, figures, key};

/// `p` is seen clean at 8:00 and mated with `l` at 9:00 on 2 March; what comes later is the case's.
/// Another end face keeps the records going.
fn mated(looks: &str, matings: &str) -> Fleet {
    fleet()
        .looks(&format!(
            "at,end_face,outcome,finding\n2026-03-02 08:00,p,pass,\n{looks}\n2026-03-30 08:00,x,pass,"
        ))
        .matings(&format!("record,at,end_face_a,end_face_b\nM1,2026-03-02 09:00,l,p\n{matings}"))
}

fn exposures(fleet: &Fleet) -> Vec<Exposure> {
    fleet.derive().exposures
}

/// How `p` came out of its mating.
fn later(looks: &str) -> Later {
    let all = exposures(&mated(looks, ""));
    assert_eq!(all.len(), 1, "{all:?}");
    all[0].later
}

#[test]
fn a_partner_seen_clean_comes_out_as_its_next_look_says() {
    assert_eq!(later("2026-03-02 10:00,p,pass,"), Later::Clean);
    assert_eq!(later("2026-03-02 10:00,p,fail,contamination"), Later::Contaminated);
    assert_eq!(later("2026-03-02 10:00,p,fail,defect"), Later::OtherFail);
    assert_eq!(later("2026-03-02 10:00,p,fail,"), Later::OtherFail);
    assert_eq!(later(""), Later::Nothing);
}

#[test]
fn only_the_first_look_afterwards_counts() {
    let rows = "2026-03-02 10:00,p,fail,contamination\n2026-03-02 11:00,p,pass,";
    assert_eq!(later(rows), Later::Contaminated);
}

#[test]
fn unreadable_looks_and_the_demating_stand_apart() {
    assert_eq!(
        later("2026-03-02 10:00,p,unreadable,\n2026-03-02 10:05,p,fail,contamination"),
        Later::Contaminated
    );
    let parted = fleet()
        .looks(
            "at,end_face,outcome,finding
            2026-03-02 08:00,p,pass,
            2026-03-02 10:00,p,fail,contamination",
        )
        .matings(
            "record,at,end_face_a,end_face_b,demated_at
            M1,2026-03-02 09:00,l,p,2026-03-02 09:05",
        );
    assert_eq!(exposures(&parted)[0].later, Later::Contaminated);
}

#[test]
fn a_cleaning_in_between_makes_it_none() {
    let fleet = mated("2026-03-02 10:00,p,fail,contamination", "")
        .cleanings("at,end_face\n2026-03-02 09:30,p");
    assert_eq!(exposures(&fleet)[0].later, Later::CleanedUnseen);
    let after = mated("2026-03-02 10:00,p,fail,contamination", "")
        .cleanings("at,end_face\n2026-03-02 10:30,p");
    assert_eq!(exposures(&after)[0].later, Later::Contaminated);
}

#[test]
fn another_mating_in_between_makes_it_none() {
    let fleet = mated("2026-03-02 10:00,p,fail,contamination", "M2,2026-03-02 09:30,m,p");
    let all = exposures(&fleet);
    // By the second mating nobody had looked at p again.
    assert_eq!(all.len(), 1);
    assert_eq!((all[0].other, all[0].later), (key("l"), Later::MatedAgain));
}

#[test]
fn a_partner_not_seen_or_seen_failing_is_none() {
    let with = |row: &str| {
        fleet()
            .looks(&format!("at,end_face,outcome\n{row}\n2026-03-02 10:00,p,fail"))
            .matings("record,at,end_face_a,end_face_b\nM1,2026-03-02 09:00,l,p")
            .derive()
            .exposures
            .len()
    };
    assert_eq!(with("2026-03-02 08:00,p,pass"), 1);
    assert_eq!(with("2026-03-02 08:00,p,fail"), 0);
    assert_eq!(with("2026-03-02 08:00,x,pass"), 0, "not looked at");
    assert_eq!(with("2026-03-01 08:59,p,pass"), 0, "a minute beyond the window");
}

#[test]
fn no_end_may_be_a_recessed_lens() {
    let with = |optic: &str| {
        let register = format!("end_face,optic\nl,{optic}\np,fibre");
        exposures(&mated("2026-03-02 10:00,p,pass,", "").register(&register)).len()
    };
    assert_eq!(with("recessed-lens"), 0);
    assert_eq!(with("stub"), 1);
    assert_eq!(with(""), 1, "an unknown optic is none");
}

#[test]
fn both_ends_are_partners_of_each_other() {
    let rows =
        "2026-03-02 08:30,l,pass,\n2026-03-02 10:00,p,pass,\n2026-03-02 10:00,l,fail,contamination";
    let all = exposures(&mated(rows, ""));
    let told: Vec<_> = all.iter().map(|e| (e.partner, e.other, e.later)).collect();
    assert_eq!(told.len(), 2);
    assert!(told.contains(&(key("p"), key("l"), Later::Clean)));
    assert!(told.contains(&(key("l"), key("p"), Later::Contaminated)));
}

#[test]
fn the_other_end_is_told_with_its_state_and_last_tool() {
    let rows = "2026-03-02 08:30,l,pass,\n2026-03-02 10:00,p,pass,";
    let seen = mated(rows, "")
        .cleanings("at,end_face,tool\n2026-03-01 08:00,l,pen-1\n2026-03-02 08:20,l,pen-2")
        .derive();
    let of_l = seen.exposures.iter().find(|exposure| exposure.other == key("l")).unwrap();
    assert_eq!(of_l.other_state, EndState::Seen);
    assert_eq!(seen.derived.glossary.device.0.word(of_l.other_tool), "pen-2");
    let unseen = exposures(&mated("", ""));
    assert_eq!((unseen[0].other_state, unseen[0].other_tool), (EndState::Unseen, 0));
}

#[test]
fn an_end_that_is_not_identified_is_no_other_end_but_may_be_mated_with() {
    let fleet = fleet()
        .looks("at,end_face,outcome\n2026-03-02 08:00,p,pass\n2026-03-02 10:00,p,pass")
        .matings("record,at,end_face_a,end_face_b,operator\nM1,2026-03-02 09:00,,p,Kim");
    let seen = fleet.derive();
    assert!(!seen.exposures[0].other.is_known());
    assert_ne!(seen.exposures[0].operator, 0);
    let cells = seen.derived.counts.carriers.cells.cells();
    let kinds: Vec<CarrierKind> = cells.iter().map(|(cell, _)| cell.kind).collect();
    assert_eq!(kinds, [CarrierKind::Operator], "a trial of the operator alone");
}

#[test]
fn operators_are_pseudonyms() {
    let fleet = fleet()
        .looks("at,end_face,outcome\n2026-03-02 08:00,p,pass\n2026-03-02 10:00,p,pass")
        .matings("record,at,end_face_a,end_face_b,operator\nM1,2026-03-02 09:00,l,p,Kim");
    let seen = fleet.derive();
    let word = seen.derived.glossary.operator.0.word(seen.exposures[0].operator);
    assert!(!word.is_empty() && word != "Kim" && word != "unknown");
}

/// The result of `p` with one ticket.
fn prompted(ticket: &str) -> Seen {
    mated("2026-03-12 10:00,p,fail,contamination", "")
        .faults(&format!("opened,cleared,mating,end_face\n{ticket}"))
        .derive()
}

#[test]
fn a_look_made_because_of_a_fault_is_prompted_and_no_trial() {
    let fates = |seen: &Seen| {
        let cells = seen.derived.counts.carriers.exposures.cells();
        cells.iter().map(|(cell, row)| (cell.fate, row.ends)).collect::<Vec<_>>()
    };
    let open = prompted("2026-03-12 09:00,2026-03-13 09:00,M1,");
    assert!(open.exposures[0].prompted);
    assert_eq!(fates(&open), [(Fate::Prompted, 1)]);
    assert!(open.derived.counts.carriers.cells.is_empty());
    let named = prompted("2026-03-12 09:00,2026-03-13 09:00,,p");
    assert!(named.exposures[0].prompted);
    let cleared = prompted("2026-03-05 09:00,2026-03-06 09:00,M1,");
    assert!(!cleared.exposures[0].prompted);
    assert_eq!(fates(&cleared), [(Fate::Contaminated, 1)]);
    assert_eq!(figures(cleared.derived.counts.carriers.cells.total()), [1, 1]);
}

#[test]
fn a_fault_after_the_first_look_does_not_prompt_it() {
    let seen = mated("2026-03-03 10:00,p,pass,\n2026-03-20 10:00,p,fail,contamination", "")
        .faults("opened,cleared,mating,end_face\n2026-03-20 09:00,2026-03-21 09:00,M1,")
        .derive();
    // The visit of the 20th is prompted; the exposure ended with the look of the 3rd.
    assert_eq!(seen.exposures[0].later, Later::Clean);
    assert!(!seen.exposures[0].prompted);
    assert!(seen.visits.iter().any(|visit| visit.prompted));
}

#[test]
fn what_comes_after_the_period_is_not_known_yet() {
    let looks = "2026-04-02 10:00,p,fail,contamination\n2026-07-01 08:00,y,pass,";
    let first = mated(looks, "").review("2026-Q1");
    assert_eq!(exposures(&first)[0].later, Later::Nothing);
    let second = mated(looks, "").review("2026-Q2");
    assert_eq!(exposures(&second)[0].later, Later::Contaminated);
    // It belongs to the period of its mating, within the twelve months looked back.
    assert_eq!(figures(second.derive().derived.counts.carriers.cells.total()), [1, 1]);
    let late = mated(&format!("{looks}\n2027-05-01 08:00,y,pass,"), "").review("2026-Q4");
    assert_eq!(figures(late.derive().derived.counts.carriers.cells.total()), [1, 1]);
    let later = mated(&format!("{looks}\n2027-05-01 08:00,y,pass,"), "").review("2027-Q1");
    let counts = later.derive().derived.counts.carriers;
    assert_eq!((figures(counts.cells.total()), counts.exposures.off_table().ends), ([0, 0], 1));
}

#[test]
fn a_partner_counts_once_per_mating_and_again_in_the_next() {
    let rows = "2026-03-02 10:00,p,pass,
        2026-03-02 10:30,p,fail,contamination
        2026-03-02 11:00,p,pass,
        2026-03-02 13:00,p,fail,contamination";
    let all = exposures(&mated(rows, "M2,2026-03-02 12:00,l,p"));
    let results: Vec<Later> = all.iter().map(|exposure| exposure.later).collect();
    assert_eq!(results, [Later::Clean, Later::Contaminated]);
}
