//! 5.11: which end faces were left failing, which matings in force were made without both ends seen,
//! and that few of them are kept whatever the fleet.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::{Coverage, EndState, LeftFailing, UnseenMating};
use motetrail::records::Finding;

use super::fleet::{Fleet, fleet};
use super::minutes::minutes;
use super::seen::{key, time};

fn left(fleet: &Fleet) -> Vec<LeftFailing> {
    fleet.derive().derived.counts.worklist.left.items()
}

/// Cycles of `p` where it is listed, after these minutes.
fn cycles(events: &str) -> Option<u32> {
    left(&minutes(events)).iter().find(|left| left.key == key("p")).map(|left| left.cycles)
}

#[test]
fn an_end_face_is_listed_while_the_last_thing_known_of_it_is_a_failing_look() {
    assert_eq!(cycles("f"), Some(0));
    assert_eq!(cycles("fcfcf"), Some(2));
    // Two cleanings with no look between are one cycle (V2).
    assert_eq!(cycles("fccf"), Some(1));
    assert_eq!(cycles("pcf"), Some(1));
    // An unreadable look is no event.
    assert_eq!(cycles("fcfu"), Some(1));
    assert_eq!(cycles("fI"), Some(0), "a disposition that leaves it in service settles nothing");
    for settled in ["p", "fp", "fcp", "fc", "fR", "fU"] {
        assert_eq!(cycles(settled), None, "{settled}");
    }
    assert_eq!(cycles("fRf"), Some(0), "a disposition followed by work was no ending");
}

const LOOKS: &str = "at,end_face,outcome,finding,zone,stage,family
    2026-03-02 08:00,p,fail,contamination,C,incoming,LC
    2026-03-02 08:20,p,fail,contamination,A,incoming,LC
    2026-03-04 08:00,p,fail,contamination,B,change,LC
    2026-03-05 08:00,x,pass,,,change,LC";

#[test]
fn of_several_visits_the_last_is_told_with_the_zone_of_its_last_look() {
    let wipes = "at,end_face,stage\n2026-03-02 08:10,p,incoming\n2026-03-03 08:00,x,incoming";
    let fleet = fleet().looks(LOOKS).cleanings(wipes);
    let seen = fleet.derive();
    let listed = seen.derived.counts.worklist.left.items();
    assert_eq!(listed.len(), 1);
    let left = &listed[0];
    assert_eq!((time(left.at.0).as_str(), left.zone, left.cycles), ("2026-03-04 08:00:00", 2, 0));
    assert_eq!(left.finding, Finding::Contamination);
    let glossary = &seen.derived.glossary;
    assert_eq!(glossary.stage.0.word(left.stage.into()), "change");
    assert_eq!(glossary.family.0.word(left.family), "LC");
    assert_eq!(glossary.site.0.word(left.site), "Works");
    assert_eq!(seen.derived.face_names[&key("p")].to_string(), "p");
}

#[test]
fn a_mating_or_the_end_of_service_takes_it_off_the_list() {
    let looked = || fleet().looks(LOOKS);
    let mated = |at: &str| looked().matings(&format!("at,end_face_a,end_face_b\n{at},p,q"));
    assert!(left(&mated("2026-03-06 08:00")).is_empty());
    assert_eq!(left(&mated("2026-03-03 08:00")).len(), 1, "mated before that look");
    let until = |day: &str| looked().register(&format!("end_face,in_service_to\np,{day}"));
    assert!(left(&until("2026-03-20")).is_empty());
    assert_eq!(left(&until("2026-06-30")).len(), 1);
}

/// A past review is repeated with later records in the store.
#[test]
fn what_came_after_the_period_settles_nothing() {
    let later = "2026-04-02 08:00,p,pass,,,change,LC";
    let looks = format!("{LOOKS}\n{later}");
    assert_eq!(left(&fleet().looks(&looks).review("2026-Q1")).len(), 1);
    assert!(left(&fleet().looks(&looks).review("2026-Q2")).is_empty());
}

#[test]
fn a_recessed_lens_is_listed_only_if_a_fault_names_it() {
    let looks = "at,end_face,optic,outcome,finding
        2026-03-02 08:00,p,recessed-lens,fail,contamination
        2026-03-05 08:00,x,,pass,";
    let faulty = |opened: &str, face: &str| {
        let tickets = format!("opened,end_face\n{opened},{face}");
        left(&fleet().looks(looks).faults(&tickets).review("2026-Q1"))
    };
    assert!(left(&fleet().looks(looks)).is_empty());
    assert!(faulty("2026-03-03 08:00", "x").is_empty());
    assert!(faulty("2026-03-03 08:00", "p")[0].recessed);
    assert_eq!(faulty("2026-02-01 08:00", "p").len(), 1, "30 days before the visit");
    assert!(faulty("2026-01-30 08:00", "p").is_empty());
    assert!(faulty("2026-04-01 08:00", "p").is_empty(), "after the period");
}

/// Looks at `p` and `q` before their mating on 2 March, and further looks; looks at `x` in both months,
/// so that neither is silent.
fn mated(p: &str, q: &str, demated: &str, more: &str) -> Fleet {
    let look = |face: &str, said: &str| match said {
        "" => String::new(),
        said => format!("2026-03-02 07:30,{face},{said}\n"),
    };
    let looks = format!(
        "at,end_face,outcome\n2026-02-20 08:00,x,pass\n2026-03-01 08:00,x,pass\n{}{}{more}",
        look("p", p),
        look("q", q)
    );
    fleet().looks(&looks).review("2026-Q1").matings(&format!(
        "record,at,end_face_a,end_face_b,demated_at,service
        M0,2026-02-27 08:00,v,w,,
        M1,2026-03-02 08:00,p,q,{demated},trunk 7"
    ))
}

fn unseen(fleet: &Fleet) -> Vec<UnseenMating> {
    let mut all = fleet.derive().derived.counts.worklist.unseen.items();
    all.retain(|mating| mating.ends.contains(&key("p")));
    all
}

#[test]
fn matings_in_force_are_listed_that_were_made_with_an_end_unseen_or_failing() {
    let one = |p: &str, q: &str| {
        let all = unseen(&mated(p, q, "", ""));
        all.first().map(|mating| (mating.coverage, mating.ends[0] == key("p")))
    };
    assert_eq!(one("pass", "pass"), None);
    assert_eq!(one("pass", ""), Some((Coverage::One, false)));
    assert_eq!(one("", "pass"), Some((Coverage::One, true)));
    assert_eq!(one("", ""), Some((Coverage::None, true)));
    assert_eq!(one("pass", "fail"), Some((Coverage::DespiteFail, false)));
    let both = unseen(&mated("", "fail", "", ""));
    // The failing end stands first.
    assert_eq!(both[0].states, [Some(EndState::Failing), Some(EndState::Unseen)]);
}

#[test]
fn the_service_that_a_listed_mating_carries_is_told() {
    let fleet = mated("", "", "", "");
    let derived = fleet.derive().derived;
    let listed = derived.counts.worklist.unseen.items();
    let services: Vec<Option<&str>> = listed
        .iter()
        .map(|mating| derived.services.get(&mating.number).map(String::as_str))
        .collect();
    assert_eq!(services, [Some("trunk 7"), None], "the latest first");
    assert_eq!(derived.face_names[&listed[0].ends[1]].to_string(), "q");
}

#[test]
fn not_what_is_no_longer_in_force_was_worked_on_or_has_had_its_fault() {
    assert_eq!(unseen(&mated("", "", "", "")).len(), 1);
    assert!(unseen(&mated("", "", "2026-03-20 08:00", "")).is_empty());
    assert_eq!(unseen(&mated("", "", "2026-04-20 08:00", "")).len(), 1, "after the period");
    // Somebody has looked: it has been taken apart, though nobody wrote when.
    assert!(unseen(&mated("", "", "", "2026-03-09 08:00,q,pass\n")).is_empty());
    let faulty = |cause: &str, opened: &str| {
        let tickets = format!("opened,mating,cause\n{opened},M1,{cause}");
        unseen(&mated("", "", "", "").faults(&tickets)).len()
    };
    assert_eq!(faulty("contamination", "2026-03-09 08:00"), 0);
    assert_eq!(faulty("break", "2026-03-09 08:00"), 1, "a fault that dirt does not explain");
    assert_eq!(faulty("contamination", "2026-04-09 08:00"), 1, "after the period");
}

#[test]
fn the_horizon_ends_the_risk_and_dark_stages_have_none() {
    let short = |days: u32| {
        let rules = format!("[rules]\nhorizon_days = {days}\nbands_days = [7]");
        unseen(&mated("", "", "", "").also(&rules)).len()
    };
    // From 2 March 08:00 to the end of the quarter are 29 days and 16 hours.
    assert_eq!((short(29), short(30)), (0, 1));
    let dark = "[stages]\norder = [\"installation\"]\ndark = [\"installation\"]";
    assert!(unseen(&mated("", "", "", "").also(dark)).is_empty());
}

#[test]
fn fifty_thousand_failing_end_faces_leave_a_hundred_a_cell() {
    let mut looks = "at,end_face,outcome,finding,family\n".to_owned();
    for number in 0..50_000 {
        let family = ["LC", "MPO"][number % 2];
        let finding = ["contamination", "defect"][number / 2 % 2];
        let (day, minute) = (1 + number / 1440 % 28, number % 60);
        let hour = number / 60 % 24;
        looks +=
            &format!("2026-03-{day:02} {hour:02}:{minute:02},p{number},fail,{finding},{family}\n");
    }
    let derived = fleet().looks(&looks).derive().derived;
    let list = &derived.counts.worklist.left;
    assert_eq!((list.seen(), list.len()), (50_000, 4 * 100));
    // The latest of each cell are kept: none that was left out is later than one that stands.
    let items = list.items();
    for cell in items.iter().map(LeftFailing::cell) {
        let own: Vec<_> = items.iter().filter(|left| left.cell() == cell).collect();
        assert_eq!(own.len(), 100);
        assert!(own.iter().all(|left| time(left.at.0).starts_with("2026-03-28")));
    }
    assert_eq!(derived.face_names.len(), 400);
}
