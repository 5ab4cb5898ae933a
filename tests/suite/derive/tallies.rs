//! What visits and matings count as: rows of first pass, how visits leave the cycles, clusters,
//! days since mating.
//!
//! Source of every expected value: sections 4 and 5 of the design, applied by hand to the rows
//! shown.

use motetrail::derive::counts::{View, VisitRow, cycles, matings, work_orders};

use super::fleet::fleet;
use super::seen::{Seen, figures};

/// Visits by their row of first pass, with the clean first looks among them.
fn rows(seen: &Seen) -> Vec<(&'static str, i64, i64)> {
    let cells = seen.derived.counts.first_pass.visits.cells();
    let mut rows: Vec<(VisitRow, i64, i64)> =
        cells.iter().map(|(cell, row)| (cell.row, row.visits, row.clean)).collect();
    rows.sort();
    rows.into_iter().map(|(row, n, clean)| (row.word(), n, clean)).collect()
}

#[test]
fn a_visit_is_in_the_first_row_of_first_pass_that_fits() {
    let seen = fleet()
        .looks(
            "at,end_face,optic,outcome
            2026-03-02 08:00,p,,pass
            2026-03-04 08:00,p,,fail
            2026-03-06 08:00,p,,pass
            2026-03-02 08:00,q,recessed-lens,pass
            2026-03-06 08:00,q,recessed-lens,fail",
        )
        .faults("opened,cleared,end_face\n2026-03-06 09:00,,p\n2026-03-06 09:00,,q")
        .derive();
    let expected = [("prompted", 1, 1), ("again", 1, 0), ("routine", 1, 1)];
    let all = rows(&seen);
    let recessed: i64 = all.iter().filter(|row| row.0 == "recessed").map(|row| row.1).sum();
    assert_eq!(recessed, 2);
    assert_eq!(all[all.len() - 3..], expected);
}

/// How a visit left, by view, method and cycle: `passed`, `rejected`, `left` or `censored`.
/// Letters a minute apart: looks pass, fail, fail for a Defect, Reject; dry and wet cleanings.
fn left(events: &str) -> Vec<(View, String, u32, &'static str)> {
    let mut looks = "at,end_face,outcome,finding,disposition\n2026-03-01 08:00,x,pass,,".to_owned();
    let mut wipes = "at,end_face,method\n2026-02-28 08:00,x,dry".to_owned();
    for (minute, event) in (10..).zip(events.chars()) {
        let at = format!("\n2026-03-02 08:{minute},p");
        match event {
            'd' => wipes += &format!("{at},dry"),
            'w' => wipes += &format!("{at},wet"),
            'p' => looks += &format!("{at},pass,,"),
            'f' => looks += &format!("{at},fail,contamination,"),
            'D' => looks += &format!("{at},fail,defect,"),
            _ => looks += &format!("{at},fail,contamination,reject"),
        }
    }
    let seen = fleet().looks(&looks).cleanings(&wipes).derive();
    let table = &seen.derived.counts.cleaning.cycles;
    let mut all = Vec::new();
    for (cell, row) in table.cells() {
        let cycles::Row { passed, rejected, left, censored, cleanings: _ } = row;
        let by_word =
            [("passed", passed), ("rejected", rejected), ("left", left), ("censored", censored)];
        for (word, _) in by_word.into_iter().filter(|(_, count)| *count > 0) {
            let method = seen.method(cell.method.0).to_owned();
            all.push((cell.view, method, cell.cycle.0, word));
        }
    }
    all
}

fn all(cycle: u32, how: &'static str) -> (View, String, u32, &'static str) {
    (View::All, "unknown".to_owned(), cycle, how)
}

fn dry(cycle: u32, how: &'static str) -> (View, String, u32, &'static str) {
    (View::Method, "dry".to_owned(), cycle, how)
}

#[test]
fn visits_leave_the_cycles_where_they_first_pass() {
    assert_eq!(left("fdp"), [all(1, "passed"), dry(1, "passed")]);
    assert_eq!(left("fdfddpdf"), [all(2, "passed"), dry(2, "passed")]);
}

#[test]
fn the_view_by_method_is_censored_before_the_first_switch() {
    assert_eq!(left("fdfwp"), [all(2, "passed"), dry(1, "censored")]);
    assert_eq!(left("fdwp"), [all(1, "passed"), (View::Method, "mixed".to_owned(), 1, "passed")]);
}

#[test]
fn a_reject_or_a_last_look_failing_for_a_defect_competes() {
    assert_eq!(left("fdR"), [all(1, "rejected"), dry(1, "rejected")]);
    assert_eq!(left("fdD"), [all(1, "rejected"), dry(1, "rejected")]);
    assert_eq!(left("fdDdf"), [all(2, "left"), dry(2, "left")]);
}

#[test]
fn a_defect_competes_also_where_a_cleaning_that_nobody_looked_at_follows() {
    assert_eq!(left("fdDd"), [all(1, "rejected"), dry(1, "rejected")]);
    assert_eq!(left("fdDwd"), [all(1, "rejected"), dry(1, "rejected")]);
    // The defect was seen without a cycle before it.
    assert_eq!(left("fDd"), [all(0, "rejected")]);
    // Contamination was seen last: nobody knows what the cleaning did.
    assert_eq!(left("fdDdfd"), [all(2, "censored"), dry(2, "censored")]);
}

#[test]
fn a_visit_without_a_cycle_is_under_no_method() {
    assert_eq!(left("R"), [all(0, "rejected")]);
    assert_eq!(left("fw"), [all(0, "censored")]);
    assert_eq!(left("fp"), [all(0, "censored")]);
}

#[test]
fn the_rest_is_left_or_censored_at_the_cycles_completed() {
    assert_eq!(left("f"), [all(0, "left")]);
    assert_eq!(left("fd"), [all(0, "censored")]);
    assert_eq!(left("fdfd"), [all(1, "censored"), dry(1, "censored")]);
    // The first pass came on a look that closed no cycle.
    assert_eq!(left("fdfp"), [all(1, "censored"), dry(1, "censored")]);
}

#[test]
fn only_visits_that_began_contaminated_are_followed_by_cycle() {
    assert_eq!(left("Ddp"), []);
    assert_eq!(left("pdf"), []);
    assert_eq!(left("dfdp"), []);
}

#[test]
fn first_looks_cluster_by_work_order_and_site_day_of_the_quarters_compared() {
    let seen = fleet()
        .looks(
            "at,end_face,work_order,outcome
            2025-04-05 08:00,n,W0,fail
            2025-12-31 08:00,o,W0,pass
            2026-01-05 08:00,p,W1,pass
            2026-04-02 08:00,q,W2,pass
            2026-04-02 08:00,r,W2,fail
            2026-04-03 08:00,s,W2,pass
            2026-04-03 08:00,t,,pass",
        )
        .derive();
    let sorted = |cells: Vec<(work_orders::Key, work_orders::Row)>, quarter: &str| {
        let calendar = &seen.derived.calendar;
        let own = cells
            .into_iter()
            .filter(|(cell, _)| calendar.quarter(cell.quarter.0).to_string() == quarter);
        let mut counts: Vec<[i64; 2]> = own.map(|(_, row)| figures(row)).collect();
        counts.sort();
        counts
    };
    let counts = &seen.derived.counts;
    let orders = |quarter: &str| sorted(counts.first_pass.work_orders.cells(), quarter);
    assert_eq!(orders("2026-Q2"), [[1, 1], [3, 2]]);
    assert_eq!(sorted(counts.first_pass.site_days.cells(), "2026-Q2"), [[2, 1], [2, 2]]);
    // The quarter before, and the same a year before; the one between is compared with nothing.
    assert_eq!((orders("2026-Q1"), orders("2025-Q2")), (vec![[1, 1]], vec![[1, 0]]));
    assert_eq!((orders("2025-Q4"), counts.first_pass.work_orders.len()), (vec![], 4));
}

#[test]
fn time_by_day_since_mating_follows_from_entries_exits_and_part_days() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-06-01 08:00,x,pass")
        .matings("record,at,end_face_a,end_face_b\nM1,2026-03-01 08:00,p,q")
        .faults("opened,mating,cause\n2026-03-04 20:00,M1,contamination")
        .derive();
    let cells = seen.derived.counts.followed.since_mating.cells();
    let by_day: Vec<(u32, [i64; 4])> =
        cells.iter().map(|(cell, row)| (cell.day.0, figures(*row))).collect();
    // In on day 0, out in the middle of day 3 with a linked fault: half of that day is missing.
    assert_eq!(by_day, [(0, [1, 0, 0, 0]), (3, [0, 1, -43_200, 1])]);
}

#[test]
fn coverage_counts_reseats_unseen_ends_and_day_precision() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-03-01 08:00,p,pass")
        .matings(
            "at,end_face_a,end_face_b,demated_at
            2026-03-01 09:00,p,q,2026-03-02 09:00
            2026-03-02 10:00,p,q,
            2026-03-05,r,s,",
        )
        .derive();
    let table = &seen.derived.counts.coverage.matings;
    let expected = matings::Row { matings: 3, reseats: 1, unseen_ends: 1 + 2 + 2, day_only: 1 };
    assert_eq!(table.total(), expected);
}

#[test]
fn rows_of_a_site_are_counted_by_month() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-03-31 23:59,p,unreadable\n2026-04-01 00:00,p,pass")
        .cleanings("at,end_face\n2026-04-02 08:00,p")
        .matings("at,end_face_a,end_face_b\n2026-03-05 08:00,p,q")
        .derive();
    let cells = seen.derived.counts.coverage.site_months.cells();
    let by_month: Vec<(String, [i64; 4])> = cells
        .iter()
        .map(|(cell, row)| (seen.derived.calendar.month(cell.month.0), figures(*row)))
        .collect();
    let expected = [("2026-03".to_owned(), [1, 0, 1, 27]), ("2026-04".to_owned(), [1, 1, 0, 30])];
    assert_eq!(by_month, expected);
}

/// Ends by the stage of their mating and the last stage before it at which they were looked at.
#[test]
fn ends_that_are_mated_remember_where_they_were_looked_at_since_they_were_last_mated() {
    let seen = fleet()
        .looks(
            "at,end_face,stage,outcome
            2026-03-01 08:00,p,production,pass
            2026-03-01 09:00,p,incoming,fail
            2026-03-01 08:00,q,production,pass
            2026-03-01 08:00,r,installation,pass
            2026-03-01 08:00,s,incoming,unreadable",
        )
        .matings(
            "at,end_face_a,end_face_b,stage
            2026-03-02 09:00,p,q,installation
            2026-03-03 09:00,p,q,installation
            2026-03-04 09:00,r,s,installation",
        )
        .derive();
    let word = |code: u32| seen.derived.glossary.stage.0.word(code).to_owned();
    let cells = seen.derived.counts.coverage.mated_ends.cells();
    let mut found: Vec<(String, String, i64)> =
        cells.iter().map(|(cell, row)| (word(cell.stage.0), word(cell.from.0), row.ends)).collect();
    found.sort();
    // Once mated nothing is remembered; a look at the stage of the mating, or without a picture, is none before it.
    let expected = [("incoming", 1), ("production", 1), ("unknown", 4)]
        .map(|(from, ends)| ("installation".to_owned(), from.to_owned(), ends));
    assert_eq!(found, expected);
}

/// What a look leads to is counted of visits that began with one.
#[test]
fn cleanings_cycles_and_rejects_are_counted_apart_where_somebody_looked_first() {
    let seen = fleet()
        .looks(
            "at,end_face,outcome,finding,disposition
            2026-03-02 08:00,p,fail,contamination,
            2026-03-02 08:10,p,fail,contamination,reject
            2026-03-02 08:00,q,fail,defect,reject
            2026-03-02 08:10,r,fail,contamination,reject",
        )
        .cleanings("at,end_face\n2026-03-02 08:05,p\n2026-03-02 08:05,r")
        .derive();
    let all = seen.derived.counts.first_pass.visits.total();
    assert_eq!((all.visits, all.looks), (3, 2));
    assert_eq!((all.cleanings, all.cleanings_seen, all.cycles_seen), (2, 1, 1));
    assert_eq!((all.rejects, all.rejects_seen, all.rejects_contaminated), (3, 2, 1));
}
