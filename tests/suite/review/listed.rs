//! Every end face that the worklist of the demo calls left failing really is so by its records, read
//! straight from the store: no derivation in between.

use std::collections::BTreeMap;

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{Int32Type, TimestampMicrosecondType};
use motetrail::measures::results::Money;
use motetrail::measures::worklist::{List, Row};
use motetrail::measures::{Review, review};
use motetrail::records::Table;
use motetrail::settings::{self, NameScope, Plan};
use motetrail::store::{PartInfo, Store};

use super::demo::{copy_demo, demo};

fn word(batch: &RecordBatch, column: &str, row: usize) -> String {
    let array = batch.column_by_name(column).unwrap();
    if array.is_null(row) {
        return String::new();
    }
    if let Some(texts) = array.as_string_opt::<i32>() {
        return texts.value(row).to_owned();
    }
    let words = array.as_dictionary::<Int32Type>();
    let at = words.keys().value(row) as usize;
    words.values().as_string::<i32>().value(at).to_owned()
}

/// What the report calls an end face.
fn called(part: &PartInfo, name: &str, site: &str, side: &str) -> String {
    match (part.one_name_both_sides, part.scope) {
        (true, NameScope::Site) => format!("{name} ({side}, {site})"),
        (true, NameScope::Fleet) => format!("{name} ({side})"),
        (false, NameScope::Site) => format!("{name} ({site})"),
        (false, NameScope::Fleet) => name.to_owned(),
    }
}

/// The last of these records of each end face before the period's end, and what it said.
type Last = BTreeMap<String, (i64, String)>;

fn last(
    (plan, store): (&Plan, &Store),
    table: Table,
    names: &[[&str; 2]],
    said: &[&str],
    end: i64,
) -> Last {
    let mut found = Last::new();
    for part in store.parts(table) {
        // The store holds names as written; of the demo's sources one writes some in small letters (R8).
        let source = plan.sources.iter().find(|source| source.name == part.source).unwrap();
        let folds = source.names.fold_case;
        let columns: Vec<&str> =
            names.iter().flatten().chain(said).copied().chain(["site", "at"]).collect();
        for batch in store.read(&part, &columns).unwrap() {
            let batch = batch.unwrap();
            let at = batch.column_by_name("at").unwrap();
            let at = at.as_primitive::<TimestampMicrosecondType>();
            for row in 0..batch.num_rows() {
                let when = at.value(row);
                let words: Vec<String> = said.iter().map(|said| word(&batch, said, row)).collect();
                // An unreadable look is no event.
                if when >= end || words.first().is_some_and(|word| word == "unreadable") {
                    continue;
                }
                for [name, side] in names {
                    let site = word(&batch, "site", row);
                    let side = word(&batch, side, row);
                    let name = word(&batch, name, row);
                    let name = if folds { name.to_uppercase() } else { name };
                    let name = called(&part, &name, &site, &side);
                    let entry = found.entry(name).or_insert((i64::MIN, String::new()));
                    // Of the fibres of one look one that fails fails the look (R4).
                    let said = words.join(" ");
                    if when > entry.0 || (when == entry.0 && said.starts_with("fail")) {
                        *entry = (when, said);
                    }
                }
            }
        }
    }
    found
}

/// The rows of end faces left failing, by name.
fn listed(review: &Review) -> BTreeMap<&str, &Row> {
    let rows = review.worklist.listed(List::LeftFailing);
    rows.map(|row| (row.own.end_face.as_deref().unwrap(), row)).collect()
}

#[test]
fn every_listed_end_face_was_left_failing_by_its_records() {
    let folder = tempfile::tempdir().unwrap();
    copy_demo(folder.path());
    let plan = settings::read(&folder.path().join("fleet.toml")).unwrap();
    let mut store = Store::open(&plan).unwrap();
    store.take(&plan, chrono::NaiveDate::from_ymd_opt(2026, 7, 5).unwrap(), &()).unwrap();
    let end = demo().derived.period.end;
    let own = [["end_face", "side"]];
    let said = ["outcome", "disposition"];
    let from = (&plan, &store);
    let looks = last(from, Table::Inspections, &own, &said, end);
    let wipes = last(from, Table::Cleanings, &own, &[], end);
    let ends = [["end_face_a", "side_a"], ["end_face_b", "side_b"]];
    let matings = last(from, Table::Matings, &ends, &[], end);
    let since = |last: &Last, name: &str| last.get(name).map_or(i64::MIN, |(at, _)| *at);
    // What is worth less than its work is not listed: where work is free, all are.
    let mut free = plan.clone();
    let costs = &mut free.costs;
    (costs.look_minutes, costs.cleaning_minutes) = (0.0, 0.0);
    (costs.cleaning_material, costs.reject) = (0, 0);
    let free = review(&free, &demo().derived, &demo().accounts).unwrap();
    let all = listed(&free);
    for name in all.keys() {
        let (at, said) = &looks[*name];
        assert!(said == "fail " || said == "fail in-service", "{name}: {said}");
        assert!(since(&wipes, name) <= *at, "{name} was cleaned since");
        assert!(since(&matings, name) <= *at, "{name} was mated since");
    }
    assert_eq!(all.len() as u64, demo().derived.counts.worklist.left.seen().min(100));
    let worth = listed(&demo().review);
    assert!(!worth.is_empty() && worth.keys().all(|name| all.contains_key(name)), "{worth:?}");
    let cleaned = worth.values().filter(|row| row.estimate.is_some());
    let dearest =
        cleaned.filter_map(|row| row.own.work_cost).map(|Money(cost)| cost).max().unwrap();
    for (name, row) in all.iter().filter(|(name, _)| !worth.contains_key(*name)) {
        assert!(row.estimate.is_some_and(|saving| saving < dearest as f64), "{name}: {row:?}");
    }
}
