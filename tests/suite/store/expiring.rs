//! Records older than the settings keep.

use motetrail::records::Table;
use motetrail::store::{Expired, Store};

use super::{Bench, account, standing};

const OLD: &str = "1,2023-07-04 23:00,P1,,pass,dry\n2,2023-07-05 00:00,P2,,pass,\n3,2026-01-01 08:00,P3,,fail,wet\nx,bad,P4,,pass,\n";

fn keeping(years: Option<u32>) -> Bench {
    let mut bench = Bench::with(&[("a.csv", OLD), ("b.csv", "4,2020-01-01 08:00,P5,,pass,\n")]);
    // Three years before the day of `super::day`, which is that of the intake.
    bench.plan.rules.keep_years = years;
    bench
}

fn dropped(store: &Store) -> Vec<Expired> {
    store.accounts().iter().flat_map(|account| account.expired.clone()).collect()
}

fn assert_expired(bench: &Bench, store: &Store) {
    assert_eq!(standing(store, Table::Inspections), ["2/P2//pass", "3/P3//fail"]);
    assert_eq!(standing(store, Table::Cleanings), ["3/P3/wet"]);
    // A row of which a record is left counts as loaded; one of which none is, as expired.
    assert_eq!(account(store, "a.csv"), [4, 2, 0, 0, 1]);
    assert_eq!(account(store, "b.csv"), [1, 0, 0, 0, 0]);
    let rows: Vec<u64> = store.accounts().iter().map(|account| account.rows.expired).collect();
    assert_eq!(rows, [1, 1]);
    let expected = [(Table::Inspections, 1), (Table::Cleanings, 1), (Table::Inspections, 1)];
    assert_eq!(dropped(store), expected.map(|(table, records)| Expired { table, records }));
    assert!(store.verify().unwrap().is_empty());
    assert!(!bench.bytes().keys().any(|file| file.starts_with("work")));
}

#[test]
fn records_too_old_are_dropped_as_they_come_and_counted_by_table() {
    let bench = keeping(Some(3));
    let (store, _) = bench.take();
    assert_expired(&bench, &store);
}

#[test]
fn records_in_the_store_are_dropped_on_the_next_run_and_once() {
    let mut bench = keeping(None);
    drop(bench.take());
    bench.plan.rules.keep_years = Some(3);
    let (store, taken) = bench.take();
    assert_eq!(taken.read, 0);
    assert_expired(&bench, &store);
    drop(store);
    let once = bench.bytes();
    let (store, _) = bench.take();
    assert_expired(&bench, &store);
    assert!(bench.bytes() == once, "a second run changed something");
    drop(store);
    // What is dropped stays dropped, also when a lost manifest is made again.
    std::fs::remove_file(bench.store().join("manifest.json")).unwrap();
    let (store, _) = Store::rebuild(&bench.plan).unwrap();
    assert_expired(&bench, &store);
}

#[test]
fn the_day_of_the_settings_counts_where_they_have_one() {
    let mut bench = keeping(Some(3));
    bench.plan.fleet.as_of = chrono::NaiveDate::from_ymd_opt(2026, 7, 4);
    let (store, _) = bench.take();
    assert_eq!(account(&store, "a.csv"), [4, 3, 0, 0, 1]);
}
