//! R1, R3 and R5: who an end face is, what it is, and what a fail without a finding means.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::Look;
use motetrail::derive::counts::VisitRow;
use motetrail::records::Finding;

use super::fleet::{Fleet, fleet};
use super::seen::Seen;

const SITES: &str = "at,end_face,site,side,outcome
    2026-03-02 08:00,p,Works,plug,pass
    2026-03-02 08:10,p,Works,bulkhead,pass
    2026-03-02 08:20,p,Depot,plug,pass";

#[test]
fn r1_a_name_is_one_end_face_in_the_fleet_or_one_in_each_site() {
    let faces = |keys: &str| {
        let seen = fleet().source("looks", "inspections", SITES, keys).derive();
        let mut keys: Vec<_> = seen.visits.iter().map(|visit| visit.key).collect();
        keys.dedup();
        keys.len()
    };
    assert_eq!(faces("end_face_names = \"fleet\""), 1);
    assert_eq!(faces("end_face_names = \"site\""), 2);
    assert_eq!(faces("end_face_names = \"fleet\"\none_name_both_sides = true"), 2);
    assert_eq!(faces("end_face_names = \"site\"\none_name_both_sides = true"), 3);
}

#[test]
fn r1_the_end_of_a_mating_without_the_side_it_needs_is_not_identified() {
    let both_sides = "one_name_both_sides = true\nend_face_names = \"fleet\"";
    let seen = fleet()
        .source(
            "looks",
            "inspections",
            "at,end_face,side,outcome
            2026-03-02 08:00,p,plug,pass
            2026-03-02 08:00,p,bulkhead,pass",
            both_sides,
        )
        .source(
            "matings",
            "matings",
            "at,end_face_a,side_a,end_face_b,side_b
            2026-03-02 09:00,p,plug,p,bulkhead
            2026-03-02 09:30,q,plug,p,",
            both_sides,
        )
        .derive();
    assert_eq!(seen.coverage(), ["both", "unknown"]);
}

/// Family of the only visit of `p`.
fn visited(fleet: Fleet) -> String {
    let seen = fleet.derive();
    seen.family(seen.visit("p").face.family).to_owned()
}

fn look(family: &str) -> Fleet {
    fleet().looks(&format!("at,end_face,family,outcome\n2026-03-02 08:00,p,{family},pass"))
}

#[test]
fn r3_a_looks_own_value_stands_else_the_register_and_a_conflict_is_counted() {
    let register = "end_face,family\np,SC";
    assert_eq!(visited(look("LC").register(register)), "LC");
    assert_eq!(visited(look("").register(register)), "SC");
    assert_eq!(visited(look("")), "unknown");
    let conflicts =
        |family: &str| look(family).register(register).derive().derived.counts.conflicts;
    assert_eq!([conflicts("LC"), conflicts("SC"), conflicts("")], [1, 0, 0]);
}

#[test]
fn r3_of_two_rows_of_the_register_the_later_export_stands_else_the_first_source_by_name() {
    let later = look("").register("end_face,family\np,SC").again("p,MU");
    assert_eq!(visited(later), "MU");
    let within = look("").register("end_face,family\np,SC\np,FC");
    assert_eq!(visited(within), "FC");
    let two = look("").source("b", "end_faces", "end_face,family\np,SC", "").source(
        "a",
        "end_faces",
        "end_face,family\np,FC",
        "",
    );
    assert_eq!(visited(two), "FC");
}

/// Families of the matings at noon of 5, 10 and 15 March.
fn mated(fleet: Fleet) -> Vec<String> {
    let seen: Seen = fleet
        .matings(
            "at,end_face_a,end_face_b
            2026-03-05 12:00,p,q
            2026-03-10 12:00,p,q
            2026-03-15 12:00,q,p",
        )
        .derive();
    seen.matings.iter().map(|mating| seen.family(mating.family).to_owned()).collect()
}

#[test]
fn r3_a_mating_goes_by_the_register_then_the_last_look_before_then_the_first_after() {
    let looks = "at,end_face,family,outcome
        2026-03-06 12:00,p,LC,pass
        2026-03-08 12:00,p,,pass
        2026-03-11 12:00,p,MU,pass";
    assert_eq!(mated(fleet().looks(looks)), ["LC", "LC", "MU"]);
    assert_eq!(mated(fleet().looks(looks).register("end_face,family\np,SC")), ["SC"; 3]);
}

#[test]
fn r3_a_matings_family_is_that_of_end_a_else_of_end_b() {
    let register = |rows: &str| mated(fleet().register(&format!("end_face,family\n{rows}")));
    assert_eq!(register("p,LC\nq,SC"), ["LC", "LC", "SC"]);
    assert_eq!(register("q,SC"), ["SC"; 3]);
    assert_eq!(register("x,SC"), ["unknown"; 3]);
}

#[test]
fn r3_a_visit_without_a_look_goes_by_the_register_then_the_last_look_then_the_first_after() {
    let looks = "at,end_face,family,outcome\n2026-03-06 12:00,p,LC,pass";
    let families = |wiped: &str, register: &str| {
        let seen = fleet()
            .looks(looks)
            .cleanings(&format!("at,end_face\n{wiped},p"))
            .register(&format!("end_face,family\n{register}"))
            .derive();
        let visits = seen.of_face("p");
        let alone = visits.iter().find(|visit| visit.cleaned_unseen()).unwrap();
        seen.family(alone.face.family).to_owned()
    };
    assert_eq!(families("2026-03-09 12:00", "x,SC"), "LC");
    assert_eq!(families("2026-03-02 12:00", "x,SC"), "LC");
    assert_eq!(families("2026-03-09 12:00", "p,SC"), "SC");
}

#[test]
fn r3_a_visit_is_what_its_first_look_says() {
    let seen = fleet()
        .looks(
            "at,end_face,family,side,supplier,outcome
            2026-03-02 08:00,p,LC,plug,Ost,fail
            2026-03-02 08:20,p,SC,bulkhead,West,pass",
        )
        .derive();
    let face = seen.visit("p").face;
    assert_eq!((seen.family(face.family), face.side), ("LC", 1));
    assert_eq!(seen.derived.glossary.supplier.0.word(face.supplier), "Ost");
}

#[test]
fn r3_the_first_look_of_a_visit_that_began_with_a_cleaning_tells_what_it_is() {
    let fleet = look("LC").cleanings("at,end_face\n2026-03-02 07:50,p");
    assert_eq!(visited(fleet.register("end_face,family\np,SC")), "LC");
}

#[test]
fn r5_a_fail_without_a_finding_means_what_the_source_states_else_unknown() {
    let failing = |keys: &str| {
        let rows = "at,end_face,outcome\n2026-03-02 08:00,p,fail";
        let seen = fleet().source("looks", "inspections", rows, keys).derive();
        seen.visit("p").first
    };
    assert_eq!(failing(""), Some(Look::Fail(Finding::Unknown)));
    let stated = failing("finding_default = \"contamination\"");
    assert_eq!(stated, Some(Look::Fail(Finding::Contamination)));
}

#[test]
fn recessed_lenses_are_counted_apart_and_in_no_measure_of_cleaning() {
    let seen = fleet()
        .looks(
            "at,end_face,optic,outcome,finding
            2026-03-02 08:00,p,recessed-lens,fail,contamination
            2026-03-02 08:20,p,recessed-lens,pass,",
        )
        .cleanings("at,end_face\n2026-03-02 08:10,p")
        .derive();
    let counts = &seen.derived.counts;
    assert_eq!(counts.first_pass.visits.cells()[0].0.row, VisitRow::Recessed);
    assert!(counts.cleaning.cycles.is_empty() && counts.cleaning.cleanings.is_empty());
    assert_eq!(counts.cleaning.cleanings.off_table().cycles, 1);
}
