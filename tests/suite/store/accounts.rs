//! Promise 1: every row is accounted for, and the quarantine can be read.

use std::fs;

use motetrail::records::Table;
use motetrail::store::StoreError;

use super::{Bench, account, standing};

#[test]
fn quarantined_rows_are_counted_by_place_and_kept_in_order() {
    let bench = Bench::with(&[
        ("b.csv", "1,31.01.2026,P1,,pass,\n2,2026-01-02 08:00,P2,,pass,\n3,x,P3,,pass,\n"),
        ("a.csv", "4,y,P4,,pass,\n"),
    ]);
    let (store, _) = bench.take();
    assert_eq!(account(&store, "b.csv"), [3, 1, 0, 0, 2]);
    assert_eq!(account(&store, "a.csv"), [1, 0, 0, 0, 1]);
    let reasons = &store.accounts()[1].reasons;
    assert_eq!(reasons.len(), 1);
    assert_eq!((reasons[0].table.as_str(), reasons[0].rows), ("inspections", 2));
    let places = |most| -> Vec<(String, u64)> {
        let rows = store.quarantine(most).unwrap();
        rows.into_iter().map(|row| (row.file, row.line)).collect()
    };
    let all = [("exports/a.csv", 2), ("exports/b.csv", 2), ("exports/b.csv", 4)];
    let all = all.map(|(file, line)| (file.to_string(), line));
    assert_eq!(places(10), all);
    assert_eq!(places(2), all[..2]);
    assert!(places(0).is_empty());
}

#[test]
fn an_export_without_rows_is_accounted_for_and_known_the_next_time() {
    let bench = Bench::with(&[("a.csv", "")]);
    let (store, _) = bench.take();
    assert_eq!(account(&store, "a.csv"), [0, 0, 0, 0, 0]);
    drop(store);
    assert_eq!(bench.take().1.known, 1);
}

#[test]
fn an_export_that_is_no_longer_on_disk_stays() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    fs::remove_file(bench.export("a.csv")).unwrap();
    let (store, taken) = bench.take();
    assert_eq!(taken.unmatched.len(), 1);
    assert_eq!(taken.unmatched[0].pattern, "exports/*.csv");
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass"]);
}

#[test]
fn a_file_that_grew_is_a_later_export() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    bench.write("a.csv", "1,2026-01-02 08:00,P1,,pass,\n2,2026-01-03 08:00,P2,,pass,\n");
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.replaced), (1, 0));
    assert_eq!(store.accounts().len(), 2);
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass", "2/P2//pass"]);
}

#[test]
fn a_changed_map_reads_what_is_on_disk_again_and_keeps_the_rest() {
    let mut bench = Bench::with(&[
        ("gone.csv", "1,2026-01-02 08:00,P1,,pass,\n"),
        ("here.csv", "2,2026-01-03 08:00,P2,,pass,\n"),
    ]);
    drop(bench.take());
    fs::remove_file(bench.export("gone.csv")).unwrap();
    bench.plan.sources[0].one_name_both_sides = true;
    for record in &mut bench.plan.sources[0].records {
        record.constants.insert("side".into(), "plug".into());
    }
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.replaced, taken.known), (1, 1, 0));
    let both: Vec<_> =
        store.parts(Table::Inspections).iter().map(|part| part.one_name_both_sides).collect();
    assert_eq!(both, [false, true]);
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass", "2/P2//pass"]);
    assert!(store.verify().unwrap().is_empty());
}

#[test]
fn a_renamed_export_is_not_counted_twice_when_its_map_changes() {
    let mut bench = Bench::with(&[("a.csv", ",2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    fs::rename(bench.export("a.csv"), bench.export("b.csv")).unwrap();
    bench.plan.sources[0].site = Some("Quay 2".into());
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.replaced), (1, 1));
    assert_eq!(standing(&store, Table::Inspections), ["/P1//pass"]);
}

#[test]
fn what_changes_no_record_reads_nothing_again() {
    let mut bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    bench.plan.sources[0].line += 7;
    bench.plan.sources[0].records[0].line += 7;
    bench.plan.rules.visit_gap_hours += 1;
    bench.plan.costs.visit += 1;
    assert_eq!(bench.take().1.known, 1);
}

#[test]
fn where_strict_an_export_that_cannot_be_read_leaves_the_store_as_it_was() {
    let mut bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    let before = bench.bytes();
    bench.write("b.csv", "2,2026-01-03 08:00,P2,,pass,\n");
    fs::write(bench.export("c.csv"), "Other,Header\n1,2\n").unwrap();
    bench.plan.rules.strict = true;
    let mut store = bench.open();
    let error = store.take(&bench.plan, super::day(), &()).unwrap_err();
    assert!(matches!(&error, StoreError::Export(_)), "{error}");
    assert!(error.to_string().contains("exports/c.csv"), "{error}");
    assert_eq!(bench.bytes(), before);
}

#[cfg(unix)]
#[test]
fn where_strict_an_export_that_the_system_does_not_give_is_named() {
    let mut bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    std::os::unix::fs::symlink("nowhere", bench.export("b.csv")).unwrap();
    bench.plan.rules.strict = true;
    let mut store = bench.open();
    let error = store.take(&bench.plan, super::day(), &()).unwrap_err();
    assert!(
        matches!(&error, StoreError::Unreadable { path, .. } if *path == bench.export("b.csv"))
    );
    assert!(store.accounts().is_empty());
}

#[test]
fn a_pattern_that_is_no_glob_is_named() {
    let mut bench = Bench::new();
    bench.plan.sources[0].files = vec!["exports/[".into()];
    let error = bench.open().take(&bench.plan, super::day(), &()).unwrap_err().to_string();
    assert!(error.contains("\"bench\"") && error.contains("\"exports/[\""), "{error}");
}
