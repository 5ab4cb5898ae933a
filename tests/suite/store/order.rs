//! Promise 4: neither the order of taking nor the number of threads is seen in the bytes; and the
//! settling agrees with a slow formulation that shares no code with it.

use std::collections::{BTreeMap, BTreeSet};

use motetrail::records::Table;
use proptest::prelude::*;

use super::{Bench, standing};

const EXPORTS: [(&str, &str); 3] = [
    (
        "a.csv",
        "1,2026-01-02 08:00,P1,,pass,dry\n2,2026-01-02 09:00,P2,1,fail,\n2,2026-01-02 09:00,P2,2,pass,\n",
    ),
    ("b.csv", "2,2026-01-02 09:00,P2,1,pass,\n,2026-02-03 08:00,P3,,pass,wet\n"),
    ("c.csv", "1,2026-01-02 08:00,P1,,pass,\n,2026-02-03 08:00,P3,,pass,wet\n,bad,P4,,pass,\n"),
];

#[test]
fn any_order_of_takes_gives_the_same_bytes() {
    let at_once = Bench::with(&EXPORTS);
    drop(at_once.take());
    for order in [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        let bench = Bench::new();
        for at in order {
            let (name, rows) = EXPORTS[at];
            bench.write(name, rows);
            drop(bench.take());
        }
        assert_eq!(bench.bytes(), at_once.bytes(), "{order:?}");
    }
}

#[test]
fn one_thread_and_two_give_the_same_bytes() {
    let takes = [1, 2].map(|threads| {
        let bench = Bench::with(&EXPORTS);
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| drop(bench.take()));
        bench.bytes()
    });
    assert_eq!(takes[0], takes[1]);
}

/// One row: record 1 to 3 or none, port, fibre, result.
type Row = (u8, u8, u8, bool);

fn line(row: &Row, minute: usize) -> String {
    let (record, port, fibre, pass) = row;
    let record = if *record == 0 { String::new() } else { record.to_string() };
    let result = if *pass { "pass" } else { "fail" };
    format!("{record},2026-01-02 08:{minute:02},P{port},{fibre},{result},\n")
}

/// What stands, by the words of R1: record by record, the last export that has it, and there member by
/// member the last row.
fn expected(exports: &[Vec<String>]) -> Vec<String> {
    let mut by_record: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    let mut by_content = BTreeSet::new();
    for rows in exports {
        let mut fresh = BTreeSet::new();
        for row in rows {
            let cells: Vec<&str> = row.trim_end().split(',').collect();
            let shown = format!("{}/{}/{}/{}", cells[0], cells[2], cells[3], cells[4]);
            if cells[0].is_empty() {
                by_content.insert((row.clone(), shown));
                continue;
            }
            if fresh.insert(cells[0].to_string()) {
                by_record.remove(cells[0]);
            }
            let set = by_record.entry(cells[0].to_string()).or_default();
            set.insert(format!("{}/{}", cells[2], cells[3]), shown);
        }
    }
    let of_records = by_record.into_values().flat_map(BTreeMap::into_values);
    let mut all: Vec<String> =
        of_records.chain(by_content.into_iter().map(|(_, shown)| shown)).collect();
    all.sort();
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn settling_agrees_with_a_slow_formulation(
        exports in prop::collection::vec(
            prop::collection::vec((0..4u8, 0..2u8, 0..3u8, any::<bool>()), 1..12), 1..4)
    ) {
        // The last row of each export carries its time and thereby its place in the order.
        let exports: Vec<Vec<String>> = exports.iter().enumerate().map(|(at, rows)| {
            let mut lines: Vec<String> = rows.iter().map(|row| line(row, 0)).collect();
            lines.push(line(&(9, 9, 9, true), at + 1));
            lines
        }).collect();
        let bench = Bench::new();
        for (at, rows) in exports.iter().enumerate() {
            bench.write(&format!("{}.csv", 9 - at), &rows.concat());
        }
        let (store, _) = bench.take();
        prop_assert_eq!(standing(&store, Table::Inspections), expected(&exports));
        for account in store.accounts() {
            let rows = account.rows;
            prop_assert_eq!(rows.read, rows.loaded + rows.superseded + rows.duplicate + rows.quarantined);
        }
        prop_assert!(store.verify().unwrap().is_empty());
    }
}
