//! C1 and C2: what was known of each end when it was mated, and the class that follows.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use super::fleet::{Fleet, fleet};

/// One mating of `p` and `q` at noon of 15 March. `q` passed an hour before; the site looks at
/// something in every month from January on.
fn noon(looks: &str) -> Fleet {
    fleet()
        .looks(&format!(
            "at,end_face,optic,outcome
            2026-01-05 08:00,x,,pass
            2026-03-15 11:00,q,,pass
            {looks}"
        ))
        .matings("at,end_face_a,end_face_b\n2026-03-15 12:00:00,p,q")
}

fn class(fleet: &Fleet) -> &'static str {
    fleet.derive().coverage()[0]
}

#[test]
fn c1_a_look_exactly_24_hours_before_counts_and_a_second_earlier_does_not() {
    assert_eq!(class(&noon("2026-03-14 12:00:00,p,,pass")), "both");
    assert_eq!(class(&noon("2026-03-14 11:59:59,p,,pass")), "one");
    assert_eq!(class(&noon("2026-03-14 12:00:00,p,,fail")), "despite-fail");
    assert_eq!(class(&noon("2026-03-14 11:59:59,p,,fail")), "one");
}

#[test]
fn c1_the_last_readable_look_decides() {
    assert_eq!(class(&noon("2026-03-15 10:00,p,,fail\n2026-03-15 11:00,p,,pass")), "both");
    assert_eq!(class(&noon("2026-03-15 10:00,p,,pass\n2026-03-15 11:00,p,,fail")), "despite-fail");
    assert_eq!(class(&noon("2026-03-15 10:00,p,,pass\n2026-03-15 11:00,p,,unreadable")), "both");
    assert_eq!(class(&noon("2026-03-15 11:00,p,,unreadable")), "one");
    assert_eq!(class(&noon("2026-03-15 12:00:01,p,,pass")), "one");
}

#[test]
fn c1_a_look_at_the_instant_of_the_mating_comes_before_it() {
    assert_eq!(class(&noon("2026-03-15 12:00:00,p,,pass")), "both");
}

#[test]
fn c1_cleaned_and_nobody_looked_leaves_the_end_unseen() {
    let cleaned = |looks: &str| class(&noon(looks).cleanings("at,end_face\n2026-03-15 11:30,p"));
    assert_eq!(cleaned("2026-03-15 11:00,p,,pass"), "one");
    assert_eq!(cleaned("2026-03-15 11:00,p,,fail"), "one");
    assert_eq!(cleaned("2026-03-15 11:40,p,,pass"), "both");
}

#[test]
fn c1_a_look_before_the_previous_mating_or_demating_is_forgotten() {
    let rows = |demated: &str, look: &str| {
        let seen = fleet()
            .looks(&format!(
                "at,end_face,outcome
                2026-03-01 08:00,x,pass
                2026-03-15 11:55,q,pass
                {look},p,pass"
            ))
            .matings(&format!(
                "at,end_face_a,end_face_b,demated_at
                2026-03-15 10:00,p,r,{demated}
                2026-03-15 12:00,p,q,"
            ))
            .derive();
        seen.coverage()[1]
    };
    assert_eq!(rows("", "2026-03-15 09:59"), "one");
    assert_eq!(rows("", "2026-03-15 10:01"), "both");
    assert_eq!(rows("2026-03-15 11:00", "2026-03-15 10:59"), "one");
    assert_eq!(rows("2026-03-15 11:00", "2026-03-15 11:00"), "both");
}

#[test]
fn c1_the_window_of_a_mating_known_to_the_day_is_that_day_and_24_hours_before() {
    let day = |look: &str| {
        let seen = fleet()
            .looks(&format!(
                "at,end_face,outcome
                2026-03-01 08:00,x,pass
                2026-03-15 23:59:59,q,pass
                {look},p,pass"
            ))
            .matings("at,end_face_a,end_face_b\n2026-03-15,p,q")
            .derive();
        assert!(seen.matings[0].day_only);
        assert_eq!(seen.matings[0].at, "2026-03-15 23:59:59.999999");
        seen.coverage()[0]
    };
    assert_eq!(day("2026-03-14 00:00:00"), "both");
    assert_eq!(day("2026-03-13 23:59:59"), "one");
    assert_eq!(day("2026-03-14"), "both");
    assert_eq!(day("2026-03-13"), "one");
}

#[test]
fn c1_a_recessed_lens_counts_as_seen_and_an_unknown_optic_does_not() {
    assert_eq!(class(&noon("2026-03-01 11:00,p,recessed-lens,pass")), "both");
    assert_eq!(class(&noon("2026-03-15 11:00,p,recessed-lens,fail")), "both");
    assert_eq!(class(&noon("2026-03-01 11:00,p,window,pass")), "one");
    assert_eq!(class(&noon("2026-03-01 11:00,p,,pass")), "one");
    let registered = noon("2026-03-01 11:00,p,,pass").register("end_face,optic\np,recessed-lens");
    assert_eq!(class(&registered), "both");
}

#[test]
fn c2_none_is_neither_end_seen() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-03-01 11:00,x,pass")
        .matings("at,end_face_a,end_face_b\n2026-03-15 12:00,p,q")
        .derive();
    assert_eq!((seen.coverage()[0], seen.matings[0].unseen), ("none", 2));
}

#[test]
fn c2_despite_fail_comes_before_not_identified_and_before_unseen() {
    let mated = |looks: &str, ends: &str| {
        let seen = fleet()
            .looks(&format!("at,end_face,outcome\n2026-03-01 11:00,x,pass\n{looks}"))
            .matings(&format!("at,end_face_a,end_face_b\n2026-03-15 12:00,{ends}"))
            .derive();
        seen.coverage()[0]
    };
    assert_eq!(mated("2026-03-15 11:00,p,fail", "p,"), "despite-fail");
    assert_eq!(mated("2026-03-15 11:00,p,fail", ",p"), "despite-fail");
    assert_eq!(mated("2026-03-15 11:00,p,fail", "p,q"), "despite-fail");
    assert_eq!(mated("2026-03-15 11:00,p,pass", "p,"), "unknown");
    assert_eq!(mated("2026-03-15 11:00,p,pass", ",p"), "unknown");
}

#[test]
fn c2_unknown_where_the_window_begins_before_the_cover() {
    let mated = |first: &str, rows: &str| {
        let seen = fleet()
            .looks(&format!("at,end_face,outcome\n{first},x,pass\n{rows}"))
            .matings("at,end_face_a,end_face_b\n2026-03-15 12:00,p,q")
            .derive();
        seen.coverage()[0]
    };
    assert_eq!(mated("2026-03-14 12:00:00", ""), "none");
    assert_eq!(mated("2026-03-14 12:00:01", ""), "unknown");
    let both = "2026-03-15 11:00,p,pass\n2026-03-15 11:00,q,pass";
    assert_eq!(mated("2026-03-14 12:00:01", both), "both");
    let one = "2026-03-15 11:00,p,pass";
    assert_eq!(mated("2026-03-14 12:00:01", one), "unknown");
}

#[test]
fn c2_unknown_in_a_month_in_which_the_site_looked_at_nothing() {
    let seen = fleet()
        .looks(
            "at,end_face,site,outcome
            2026-01-05 11:00,x,Works,pass
            2026-02-15 11:00,x,Depot,pass
            2026-03-15 11:00,x,Works,unreadable",
        )
        .matings(
            "at,end_face_a,end_face_b
            2026-02-28 23:59:59,p,q
            2026-03-01 00:00:00,r,s",
        )
        .derive();
    assert_eq!(seen.coverage(), ["unknown", "none"]);
}

#[test]
fn c2_the_month_is_one_of_the_fleets_zone() {
    // 23:30 UTC on 28 February is March in Vienna.
    let rows = "at,end_face,outcome\n2026-01-05 11:00,x,pass\n2026-03-15 11:00,x,pass";
    let matings = "at,end_face_a,end_face_b\n2026-02-28 23:30,p,q";
    let utc = "timezone = \"UTC\"";
    let vienna = fleet()
        .set("timezone = \"Europe/Vienna\"")
        .source("looks", "inspections", rows, utc)
        .source("matings", "matings", matings, utc)
        .derive();
    assert_eq!(vienna.coverage(), ["none"]);
    let utc = fleet().looks(rows).matings(matings).derive();
    assert_eq!(utc.coverage(), ["unknown"]);
}
