//! Cover: over what time the faults and the looks of a site are known.
//!
//! Source of every expected value: section 4 "Cover", applied by hand to the rows shown.

use super::fleet::{Fleet, fleet};

/// A mating at every site in December 2025, looks to the end of 2026.
fn sites() -> Fleet {
    sites_until("2026-12-01")
}

/// The same with looks to that day.
fn sites_until(last: &str) -> Fleet {
    let looks = format!("at,end_face,outcome\n2025-12-01 08:00,x,pass\n{last} 08:00,x,pass");
    fleet().looks(&looks).matings(
        "at,site,end_face_a,end_face_b
            2025-12-15 08:00,Works,p,q
            2025-12-15 08:00,Depot,r,s
            2025-12-15 08:00,Hut,t,u",
    )
}

/// Over what time the mating of each site is observed, days only.
fn observed(fleet: Fleet) -> Vec<String> {
    let seen = fleet.derive();
    let shown = |span: &[String; 2]| format!("{} {}", &span[0][..10], &span[1][..10]);
    let spans = seen.matings.iter().map(|mating| mating.observed.as_ref());
    spans.map(|span| span.map_or("none".to_owned(), shown)).collect()
}

const ROWS: &str = "opened,site,end_face\n2026-02-10 08:00,Works,x\n2026-04-05 08:00,Depot,x";

#[test]
fn faults_are_known_by_default_from_the_first_month_to_the_last_at_every_site() {
    let fleet = || sites().source("desk", "faults", ROWS, "");
    assert_eq!(observed(fleet()), ["2026-02-01 2026-04-30"; 3]);
    let seen = fleet().derive();
    assert_eq!(seen.derived.guessed_cover, ["Depot", "Hut", "Works"]);
    assert!(seen.matings.iter().all(|mating| mating.guessed_cover));
}

#[test]
fn a_source_of_one_site_covers_it_and_the_others_leave_it_alone() {
    let hut = "opened,end_face\n2026-06-10 08:00,x";
    let fleet =
        sites().source("desk", "faults", ROWS, "").source("hut", "faults", hut, "site = \"Hut\"");
    let wide = "2026-02-01 2026-04-30";
    assert_eq!(observed(fleet), [wide, wide, "2026-06-01 2026-06-30"]);
}

#[test]
fn a_site_is_covered_from_the_first_start_to_the_last_end_of_its_sources() {
    let one = |name: &str, opened: &str, fleet: Fleet| {
        let rows = format!("opened,end_face\n{opened} 08:00,x");
        fleet.source(name, "faults", &rows, "site = \"Hut\"")
    };
    let fleet = one("b", "2026-02-10", one("a", "2026-06-10", sites()));
    assert_eq!(observed(fleet), ["none", "none", "2026-02-01 2026-06-30"]);
}

#[test]
fn the_default_never_reaches_past_the_day_on_which_records_are_complete() {
    let fleet = sites().set("as_of = \"2026-04-20\"").source("desk", "faults", ROWS, "");
    assert_eq!(observed(fleet.review("2026-Q2")), ["2026-02-01 2026-04-20"; 3]);
}

#[test]
fn without_as_of_the_day_of_the_last_intake_stands_for_it() {
    // The harness takes its exports in on 5 July 2026.
    let rows = "opened,site,end_face\n2026-02-10 08:00,Works,x\n2026-07-03 08:00,Depot,x";
    let fleet = sites_until("2026-07-03").set("# no as_of").source("desk", "faults", rows, "");
    assert_eq!(observed(fleet.review("2026-Q3")), ["2026-02-01 2026-07-05"; 3]);
}

#[test]
fn a_stated_cover_stands_and_is_not_guessed() {
    let keys = "covers.faults = { from = \"2026-01-10\", to = \"2026-08-20\" }";
    let fleet = sites().source("desk", "faults", ROWS, keys);
    let seen = fleet.derive();
    assert!(seen.derived.guessed_cover.is_empty());
    assert!(seen.matings.iter().all(|mating| !mating.guessed_cover));
    assert_eq!(observed(fleet), ["2026-01-10 2026-08-20"; 3]);
}

#[test]
fn a_fault_source_without_faults_covers_nothing_and_is_named() {
    let seen = sites()
        .source("desk", "faults", ROWS, "")
        .source("hut", "faults", "opened,end_face", "site = \"Hut\"")
        .derive();
    assert_eq!(seen.derived.empty_fault_sources, ["hut"]);
    assert_eq!(seen.matings[2].observed, None);
}

/// Coverage of a mating on 15 March with nobody having looked, under these look sources.
fn unseen(fleet: Fleet) -> &'static str {
    let seen = fleet.matings("at,end_face_a,end_face_b\n2026-03-15 12:00,p,q").derive();
    seen.coverage()[0]
}

fn look(name: &str, day: &str, keys: &str, fleet: Fleet) -> Fleet {
    let rows = format!("at,end_face,outcome\n{day} 08:00,x,pass");
    fleet.source(name, "inspections", &rows, keys)
}

#[test]
fn looks_are_known_by_default_from_the_first_row_of_the_site_on() {
    assert_eq!(unseen(look("a", "2026-03-14", "", fleet())), "none");
    assert_eq!(unseen(look("a", "2026-03-15", "", fleet())), "unknown");
}

#[test]
fn a_stated_cover_of_looks_stands_for_the_default() {
    let from = |from: &str, to: &str| {
        let keys = format!("covers.inspections = {{ from = {from:?}, to = {to:?} }}");
        unseen(look("a", "2026-03-16", &keys, fleet()))
    };
    assert_eq!(from("2026-03-14", "2026-03-15"), "none");
    assert_eq!(from("2026-03-15", "2026-03-20"), "unknown");
    assert_eq!(from("2026-03-01", "2026-03-14"), "unknown");
}

#[test]
fn a_cover_of_the_day_before_and_the_day_of_a_mating_known_to_the_day_holds_its_window() {
    let keys = "covers.inspections = { from = \"2026-03-14\", to = \"2026-03-15\" }";
    let seen = look("a", "2026-03-16", keys, fleet())
        .matings("at,end_face_a,end_face_b\n2026-03-15,p,q")
        .derive();
    assert_eq!(seen.coverage(), ["none"]);
}

#[test]
fn several_look_sources_cover_a_site_from_the_first_start_to_the_last_end() {
    let keys = "covers.inspections = { from = \"2026-03-20\", to = \"2026-03-25\" }";
    let fleet = look("b", "2026-03-21", keys, look("a", "2026-03-02", "", fleet()));
    assert_eq!(unseen(fleet), "none");
}

#[test]
fn criteria_are_told_only_where_a_site_changed_them_and_are_those_of_its_last_look() {
    let criteria = |rows: &str| {
        let seen = fleet()
            .looks(&format!("at,end_face,criteria,outcome\n{rows}"))
            .matings(
                "at,end_face_a,end_face_b
                2026-03-01 12:00,p,q
                2026-03-10 12:00,r,s
                2026-03-20 12:00,t,u",
            )
            .derive();
        let word = |code: u32| seen.derived.glossary.criteria.0.word(code).to_owned();
        seen.matings.iter().map(|mating| word(mating.criteria)).collect::<Vec<String>>()
    };
    let changed = "2026-03-05 08:00,x,old,pass\n2026-03-10 12:00,x,new,pass";
    assert_eq!(criteria(changed), ["unknown", "new", "new"]);
    let later = "2026-03-05 08:00,x,old,pass\n2026-03-10 12:01,x,new,pass";
    assert_eq!(criteria(later), ["unknown", "old", "new"]);
    assert_eq!(criteria("2026-03-05 08:00,x,old,pass"), ["unknown"; 3]);
}
