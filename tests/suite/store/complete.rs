//! What a full re-export leaves out: `complete = true` of the days a source covers.

use chrono::NaiveDate;
use motetrail::records::Table;
use motetrail::settings::Cover;

use super::{Bench, account, standing};

const EARLY: &str = "2026-01-02 08:00";
const LATE: &str = "2026-02-02 08:00";

/// Says that every export of the bench holds all looks of these days.
fn complete(bench: &mut Bench, from: &str, to: &str) {
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    let cover = Cover { from: day(from), to: day(to), complete: true };
    bench.plan.sources[0].covers.insert(Table::Inspections, cover);
}

fn two_exports() -> Bench {
    Bench::with(&[
        ("a.csv", &format!("1,{EARLY},P1,,pass,\n2,{EARLY},P2,,fail,\n3,{EARLY},P3,,pass,\n")),
        ("b.csv", &format!("1,{EARLY},P1,,pass,\n3,{EARLY},P3,,fail,\n4,{LATE},P4,,pass,\n")),
    ])
}

#[test]
fn what_a_complete_export_leaves_out_is_withdrawn_and_counted() {
    let mut bench = two_exports();
    complete(&mut bench, "2026-01-01", "2026-03-31");
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass", "3/P3//fail", "4/P4//pass"]);
    // Row 1 is repeated, row 3 corrected, row 2 withdrawn: counted among the superseded.
    assert_eq!(account(&store, "a.csv"), [3, 0, 2, 1, 0]);
    let rows =
        store.accounts().iter().find(|account| account.file.ends_with("a.csv")).unwrap().rows;
    assert_eq!(rows.withdrawn, 1);
    assert_eq!(store.verify().unwrap(), []);
}

#[test]
fn records_outside_the_days_covered_are_left_alone() {
    let mut bench = two_exports();
    complete(&mut bench, "2026-01-03", "2026-03-31");
    let (store, _) = bench.take();
    let all = ["1/P1//pass", "2/P2//fail", "3/P3//fail", "4/P4//pass"];
    assert_eq!(standing(&store, Table::Inspections), all);
}

#[test]
fn saying_it_later_or_taking_it_back_settles_the_store_anew() {
    let mut bench = two_exports();
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections).len(), 4);
    drop(store);
    let before = bench.bytes();
    complete(&mut bench, "2026-01-01", "2026-03-31");
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.known), (0, 2));
    assert_eq!(standing(&store, Table::Inspections).len(), 3);
    drop(store);
    bench.plan.sources[0].covers.clear();
    drop(bench.take());
    assert_eq!(bench.bytes(), before);
}

#[test]
fn the_order_in_which_complete_exports_came_is_not_seen() {
    let mut at_once = two_exports();
    complete(&mut at_once, "2026-01-01", "2026-03-31");
    drop(at_once.take());
    let mut later = Bench::new();
    complete(&mut later, "2026-01-01", "2026-03-31");
    let late = std::fs::read(at_once.export("b.csv")).unwrap();
    std::fs::write(later.export("b.csv"), late).unwrap();
    drop(later.take());
    std::fs::copy(at_once.export("a.csv"), later.export("a.csv")).unwrap();
    drop(later.take());
    assert_eq!(later.bytes(), at_once.bytes());
}
