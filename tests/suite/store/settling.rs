//! R1 and promise 2 of the design, a case a rule. Expected values are the rule's own words.

use motetrail::records::Table;

use super::{Bench, account, standing};

const EARLY: &str = "2026-01-02 08:00";
const LATE: &str = "2026-02-02 08:00";

#[test]
fn the_same_export_again_adds_nothing() {
    let bench =
        Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n2,2026-01-02 09:00,P2,,fail,\n")]);
    drop(bench.take());
    let before = bench.bytes();
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.known, taken.replaced), (0, 1, 0));
    assert_eq!(account(&store, "a.csv"), [2, 2, 0, 0, 0]);
    assert_eq!(bench.bytes(), before);
}

#[test]
fn a_row_in_two_exports_counts_once_and_in_the_later_one() {
    let bench = Bench::with(&[
        ("a.csv", &format!("1,{EARLY},P1,,pass,\n2,{EARLY},P2,,fail,\n")),
        ("b.csv", &format!("2,{EARLY},P2,,fail,\n3,{LATE},P3,,pass,\n")),
    ]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass", "2/P2//fail", "3/P3//pass"]);
    assert_eq!(account(&store, "a.csv"), [2, 1, 0, 1, 0]);
    assert_eq!(account(&store, "b.csv"), [2, 2, 0, 0, 0]);
}

#[test]
fn a_later_export_supersedes_by_record_and_the_newest_time_decides_which_is_later() {
    let bench = Bench::with(&[
        ("z-early.csv", &format!("1,{EARLY},P1,,fail,\n")),
        ("a-late.csv", &format!("1,{EARLY},P1,,pass,\n2,{LATE},P2,,pass,\n")),
    ]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass", "2/P2//pass"]);
    assert_eq!(account(&store, "z-early.csv"), [1, 0, 1, 0, 0]);
}

#[test]
fn at_equal_newest_times_the_later_file_name_stands() {
    let bench = Bench::with(&[
        ("b.csv", &format!("1,{EARLY},P1,,pass,\n")),
        ("a.csv", &format!("1,{EARLY},P1,,fail,\n")),
    ]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass"]);
}

#[test]
fn fibres_of_one_record_all_stand() {
    let rows = format!("1,{EARLY},P1,1,pass,\n1,{EARLY},P1,2,fail,\n1,{EARLY},P1,3,pass,\n");
    let bench = Bench::with(&[("a.csv", &rows)]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1/1/pass", "1/P1/2/fail", "1/P1/3/pass"]);
    assert_eq!(account(&store, "a.csv"), [3, 3, 0, 0, 0]);
}

#[test]
fn superseding_replaces_the_whole_set_of_a_record() {
    let bench = Bench::with(&[
        ("a.csv", &format!("1,{EARLY},P1,1,pass,\n1,{EARLY},P1,2,fail,\n1,{EARLY},P1,3,fail,\n")),
        ("b.csv", &format!("1,{EARLY},P1,1,pass,\n1,{EARLY},P1,2,pass,\n9,{LATE},P9,,pass,\n")),
    ]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1/1/pass", "1/P1/2/pass", "9/P9//pass"]);
    // Fibre 1 says the same, fibre 2 was corrected, fibre 3 is gone from the record.
    assert_eq!(account(&store, "a.csv"), [3, 0, 2, 1, 0]);
}

#[test]
fn within_one_export_the_first_of_equal_rows_and_the_last_of_different_ones_stand() {
    let rows = format!(
        "1,{EARLY},P1,,pass,\n1,{EARLY},P1,,pass,\n2,{EARLY},P2,,fail,\n2,{EARLY},P2,,pass,\n"
    );
    let bench = Bench::with(&[("a.csv", &rows)]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass", "2/P2//pass"]);
    assert_eq!(account(&store, "a.csv"), [4, 2, 1, 1, 0]);
}

#[test]
fn rows_without_a_record_id_are_identified_by_content() {
    let bench = Bench::with(&[
        ("a.csv", &format!(",{EARLY},P1,,pass,\n,{EARLY},P1,,fail,\n,{EARLY},P1,,fail,\n")),
        ("b.csv", &format!(",{EARLY},P1,,pass,\n,{LATE},P1,,pass,\n")),
    ]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["/P1//fail", "/P1//pass", "/P1//pass"]);
    assert_eq!(account(&store, "a.csv"), [3, 1, 0, 2, 0]);
    assert_eq!(account(&store, "b.csv"), [2, 2, 0, 0, 0]);
}

#[test]
fn a_copy_under_another_name_is_all_duplicates() {
    let rows = format!("1,{EARLY},P1,,pass,\n2,{LATE},P2,,fail,dry\n");
    let bench = Bench::with(&[("a.csv", &rows), ("copy.csv", &rows)]);
    let (store, _) = bench.take();
    assert_eq!(account(&store, "a.csv"), [2, 0, 0, 2, 0]);
    assert_eq!(account(&store, "copy.csv"), [2, 2, 0, 0, 0]);
    assert_eq!(standing(&store, Table::Cleanings), ["2/P2/dry"]);
}

#[test]
fn a_row_is_loaded_if_one_of_its_records_stands() {
    let bench = Bench::with(&[
        (
            "a.csv",
            &format!("1,{EARLY},P1,,pass,dry\n2,{EARLY},P2,,pass,dry\n3,{EARLY},P3,,pass,\n"),
        ),
        ("b.csv", &format!("1,{EARLY},P1,,pass,\n2,{EARLY},P2,,pass,wet\n3,{LATE},P3,,pass,\n")),
    ]);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Cleanings), ["1/P1/dry", "2/P2/wet"]);
    // Row 1: its cleaning stands. Row 2: look repeated, cleaning corrected. Row 3: look corrected.
    assert_eq!(account(&store, "a.csv"), [3, 1, 2, 0, 0]);
}

#[test]
fn sources_do_not_supersede_each_other() {
    let mut bench = Bench::with(&[("a.csv", &format!("1,{EARLY},P1,,pass,\n"))]);
    bench.plan.sources.push(super::source("second", "exports/*.csv"));
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass", "1/P1//pass"]);
    let sources: Vec<_> = store.parts(Table::Inspections).iter().map(|p| p.source_index).collect();
    assert_eq!(sources, [0, 1]);
}
