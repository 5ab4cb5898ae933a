//! F2's window of tickets: what moves it, what does not, and what it does to tickets that name their mating.
//!
//! Source of every expected value: the rule, applied by hand to the rows shown.

use std::fmt::Write;

use motetrail::derive::counts::Sign;
use motetrail::derive::{Basis, How, Variant, Window};

use super::fleet::{Fleet, fleet};
use super::seen::Seen;

/// So many connections, each made on the first of January and replaced on the first of February at eight, both ends:
/// records `A0` and `B0` on end faces `p0` and `q0`, and so on.
fn replaced(connections: usize) -> Fleet {
    let mut rows = "record,at,end_face_a,end_face_b,work_order\n".to_owned();
    for n in 0..connections {
        writeln!(rows, "A{n},2026-01-01 08:00,p{n},q{n},").unwrap();
        writeln!(rows, "B{n},2026-02-01 08:00,p{n},q{n},R{n}").unwrap();
    }
    fleet().looks("at,end_face,outcome\n2026-06-01 08:00,x,pass").matings(&rows)
}

/// Tickets of a source, a row each.
fn tickets(rows: impl IntoIterator<Item = String>) -> String {
    let rows: Vec<String> = rows.into_iter().collect();
    format!("opened,cleared,mating,end_face,work_order\n{}", rows.join("\n"))
}

/// One that names the replaced mating, twenty hours after it was replaced.
fn names_replaced(n: usize) -> String {
    format!("2026-02-02 04:00,,A{n},,")
}

/// The window of the tickets.
fn window(seen: &Seen) -> Window {
    let code = seen.derived.glossary.source.0.find("tickets").unwrap();
    seen.derived.windows.of(code)
}

fn told(hours: u32, basis: Basis) -> Window {
    Window { hours, basis }
}

/// How the faults of a mating found it, by its place in the export.
fn how(seen: &Seen, mating: usize) -> Vec<How> {
    seen.matings[mating].faults.iter().map(|fault| fault.how).collect()
}

#[test]
fn five_tickets_that_name_what_had_been_replaced_move_the_window_of_their_source() {
    let seen = replaced(6).faults(&tickets((0..5).map(names_replaced))).derive();
    assert_eq!(window(&seen), told(24, Basis::NamesReplaced));
    assert_eq!(seen.derived.shown_hours, 24);
    // They count where they belong: at the end of what they name.
    assert_eq!(how(&seen, 0), [How::Lagged]);
    assert_eq!(seen.matings[0].fault_times(), ["2026-02-01 08:00:00"]);
    assert!(how(&seen, 1).is_empty());
    assert_eq!(seen.derived.counts.followed.follow_up.total().any, 5);
}

#[test]
fn four_do_not() {
    let seen = replaced(6).faults(&tickets((0..4).map(names_replaced))).derive();
    assert_eq!(window(&seen), Window::USUAL);
    // Attached, outside the time in force, no event.
    assert_eq!(how(&seen, 0), [How::ByRecord]);
    assert_eq!(seen.derived.counts.followed.follow_up.total().any, 0);
}

#[test]
fn tickets_that_always_name_old_matings_show_nothing() {
    // As many on every day of the month: whoever opens them takes the number from an old list.
    let stale = |n: usize| format!("2026-02-{:02} 20:00,,A{n},,", 1 + n % 27);
    let seen = replaced(81).faults(&tickets((0..81).map(stale))).derive();
    assert_eq!(window(&seen), Window::USUAL);
}

#[test]
fn a_told_window_serves_the_tickets_that_name_end_faces_too() {
    let by_face = "2026-02-02 04:00,,,p5,".to_owned();
    let both = tickets((0..5).map(names_replaced).chain([by_face.clone()]));
    let seen = replaced(6).faults(&both).derive();
    assert_eq!((how(&seen, 10), how(&seen, 11)), (vec![How::Lagged], vec![]));
    let alone = replaced(6).faults(&tickets([by_face])).derive();
    assert_eq!((how(&alone, 10), how(&alone, 11)), (vec![], vec![How::ByEndFace]));
}

#[test]
fn tickets_cleared_before_the_mating_they_attach_to_move_the_window() {
    let cleared = |n: usize| format!("2026-02-02 22:00,2026-02-01 07:30,,p{n},");
    let seen = replaced(6).faults(&tickets((0..5).map(cleared))).derive();
    assert_eq!(window(&seen), told(48, Basis::ClearedBefore));
    assert_eq!((how(&seen, 0), how(&seen, 1)), (vec![How::Lagged], vec![]));
}

#[test]
fn a_stated_window_stands_whatever_the_tickets_show() {
    let seen = replaced(6)
        .also("[rules]\nticket_lag_hours = 6")
        .faults(&tickets((0..5).map(names_replaced)))
        .derive();
    assert_eq!(window(&seen), told(6, Basis::Stated));
    assert_eq!(seen.derived.shown_hours, 24, "what is shown is said all the same");
    assert_eq!(how(&seen, 0), [How::ByRecord]);
}

/// Sixty connections, of which twenty were replaced after a ticket, and tickets twenty hours after the replacement of
/// some.
fn explained_or_not(after: impl IntoIterator<Item = usize>) -> Seen {
    let before = (40..60).map(|n| format!("2026-01-31 20:00,2026-02-01 09:00,,p{n},"));
    let after = after.into_iter().map(|n| format!("2026-02-02 04:00,,,p{n},"));
    replaced(60).faults(&tickets(before.chain(after))).derive()
}

#[test]
fn tickets_after_replacements_that_nothing_explains_move_the_window_where_others_have_none() {
    let seen = explained_or_not(0..40);
    assert_eq!(window(&seen), told(24, Basis::Unexplained));
    let replaced = seen.derived.counts.late.replacements.total();
    assert_eq!((replaced.replaced, replaced.explained), (120, 40));
    assert_eq!((how(&seen, 0), how(&seen, 1)), (vec![How::Lagged], vec![]));
}

#[test]
fn tickets_that_follow_explained_replacements_as_often_are_early_failures() {
    let seen = explained_or_not(0..60);
    assert_eq!(window(&seen), Window::USUAL);
    assert_eq!(how(&seen, 1), [How::ByEndFace]);
}

#[test]
fn a_ticket_that_a_mating_follows_is_an_early_failure() {
    let mut again = "record,at,end_face_a,end_face_b\n".to_owned();
    (0..40).for_each(|n| writeln!(again, "C{n},2026-02-04 08:00,p{n},q{n}").unwrap());
    let before = (40..60).map(|n| format!("2026-01-31 20:00,2026-02-01 09:00,,p{n},"));
    let after = (0..40).map(|n| format!("2026-02-02 04:00,,,p{n},"));
    let seen = replaced(60)
        .source("later", "matings", &again, "")
        .faults(&tickets(before.chain(after)))
        .derive();
    assert_eq!(window(&seen), Window::USUAL);
}

#[test]
fn a_work_order_tells_the_delay_and_proves_nothing() {
    let ordered = |n: usize| format!("2026-02-02 04:00,,,p{n},R{n}");
    let seen = replaced(8).faults(&tickets((0..8).map(ordered))).derive();
    assert_eq!(window(&seen), Window::USUAL);
    let cells = seen.derived.counts.late.tickets.cells();
    let delays = cells.iter().filter(|(cell, _)| cell.sign == Sign::WorkOrder);
    let delays: Vec<(u32, i64)> = delays.map(|(cell, row)| (cell.delay.0, row.tickets)).collect();
    assert_eq!(delays, [(20, 8)]);
}

#[test]
fn other_windows_are_counted_as_the_difference_they_make() {
    // One ticket twenty hours after a replacement: within 36 hours it is of what was replaced, before that not.
    let ticket = "opened,end_face,cause\n2026-02-02 04:00,p0,contamination";
    let seen = replaced(1).faults(ticket).derive();
    let cells = seen.derived.counts.followed.variants.cells();
    let changes = |place: usize| {
        let own = cells.iter().filter(move |(cell, _)| cell.variant == Variant::Lag(place));
        own.map(|(_, row)| *row)
    };
    assert_eq!(changes(0).count() + changes(1).count(), 0, "12 hours are the rule, 0 do the same");
    // The replaced one gains the fault; the other loses it, and is now after a fault: it leaves the headline.
    for place in [2, 3] {
        let started: i64 = changes(place).map(|row| row.started).sum();
        let faults: Vec<i64> = changes(place).map(|row| row.faults).collect();
        assert_eq!((started, faults.iter().sum::<i64>()), (-1, 0));
        assert!(faults.contains(&1) && faults.contains(&-1));
    }
}
