//! Who was at risk at each fault (5.5).
//!
//! Source of every expected value: F1, F3 and 5.5, applied by hand to the rows shown.

use std::collections::BTreeMap;

use motetrail::derive::Variant;
use motetrail::derive::counts::{Counts, Definition};

use super::fleet::{Fleet, fleet};

const DAY: u32 = 86_400;

/// Five matings of one stratum: M1 and M4 have faults after 5 and 20 days, M5 at once; M2 is taken apart after two days,
/// M3 after five.
fn five(more_faults: &str) -> Fleet {
    fleet()
        .looks("at,end_face,outcome\n2026-12-01 08:00,x,pass")
        .matings(
            "record,at,end_face_a,end_face_b,demated_at
            M1,2026-01-10 12:00:00,a,b,
            M2,2026-01-10 12:00:00,c,d,2026-01-12 12:00:00
            M3,2026-01-11 12:00:00,e,f,2026-01-16 12:00:00
            M4,2026-01-12 12:00:00,g,h,
            M5,2026-01-13 12:00:00,i,j,",
        )
        .faults(&format!(
            "opened,mating,cause,remedy
            2026-01-15 12:00:00,M1,contamination,
            2026-02-01 12:00:00,M4,contamination,
            2026-01-13 12:00:00,M5,contamination,{more_faults}"
        ))
}

/// Days since mating at which first faults of a definition came, how many were at risk then, and how many had one.
fn at_risk(counts: &Counts, definition: Definition) -> Vec<(u32, i64, i64)> {
    let mut changes: BTreeMap<u32, i64> = BTreeMap::new();
    for (cell, row) in counts.risks.risk_sets.cells() {
        *changes.entry(cell.since.0).or_default() += row.entered - row.left;
    }
    let mut faults: BTreeMap<u32, i64> = BTreeMap::new();
    for (cell, row) in counts.risks.risk_faults.cells() {
        if cell.definition == definition {
            *changes.entry(cell.since.0).or_default() += row.entered - row.left;
            *faults.entry(cell.since.0).or_default() += row.faults;
        }
    }
    let at = |time: u32| changes.range(..=time).map(|(_, change)| change).sum();
    let came = faults.into_iter().filter(|(_, faults)| *faults > 0);
    came.map(|(time, faults)| (time / DAY, at(time), faults)).collect()
}

#[test]
fn who_has_left_before_a_fault_is_not_at_risk_at_it_and_who_leaves_at_it_is() {
    let counts = five("").derive().derived.counts;
    let want = [(0, 5, 1), (5, 3, 1), (20, 1, 1)];
    assert_eq!(at_risk(&counts, Definition::Linked), want);
    assert_eq!(at_risk(&counts, Definition::Any), want);
    assert_eq!(at_risk(&counts, Definition::Control), []);
}

/// M3 has a suspect fault after three days: of any cause it is followed to there, of linked ones on.
#[test]
fn another_definition_follows_matings_to_its_own_first_fault() {
    let suspect = "\n            2026-01-14 12:00:00,M3,no-fault-found,reseated";
    let counts = five(suspect).derive().derived.counts;
    assert_eq!(at_risk(&counts, Definition::Linked), [(0, 5, 1), (5, 3, 1), (20, 1, 1)]);
    assert_eq!(at_risk(&counts, Definition::Any), [(0, 5, 1), (3, 3, 1), (5, 2, 1), (20, 1, 1)]);
}

#[test]
fn a_fleet_without_faults_has_no_risk_sets() {
    let fleet = fleet()
        .looks("at,end_face,outcome\n2026-12-01 08:00,x,pass")
        .matings("record,at,end_face_a,end_face_b,demated_at\nM1,2026-01-10 12:00:00,a,b,")
        .faults("opened,end_face\n2026-12-01 08:00,y");
    let counts = fleet.derive().derived.counts;
    assert!(counts.risks.risk_sets.is_empty() && counts.risks.risk_faults.is_empty());
}

/// M3 is taken apart after five days and made again an hour later (M6): a fault of M3 where reseats count, and of nobody
/// else's risk set.
#[test]
fn a_reseat_counts_at_its_demating_with_those_who_were_at_risk_then() {
    let again = "record,at,end_face_a,end_face_b,demated_at
        M6,2026-01-16 13:00:00,e,f,";
    let counts = five("").source("again", "matings", again, "").derive().derived.counts;
    let mut changes: BTreeMap<u32, i64> = BTreeMap::new();
    let mut faults: BTreeMap<u32, i64> = BTreeMap::new();
    let cells = counts.risks.risk_variants.cells();
    for (cell, row) in cells.iter().filter(|(cell, _)| cell.variant == Variant::Reseats) {
        *changes.entry(cell.since.0 / DAY).or_default() += row.entered - row.left;
        *faults.entry(cell.since.0 / DAY).or_default() += row.faults;
    }
    let at = |day: u32| changes.range(..=day).map(|(_, change)| change).sum::<i64>();
    let found: Vec<(u32, i64, i64)> =
        faults.into_iter().filter(|(_, n)| *n > 0).map(|(day, n)| (day, at(day), n)).collect();
    assert_eq!(found, [(0, 6, 1), (5, 4, 2), (20, 2, 1)]);
    assert_eq!(at_risk(&counts, Definition::Linked), [(0, 6, 1), (5, 4, 1), (20, 2, 1)]);
}
