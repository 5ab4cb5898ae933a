//! Long exports in ranges: cut, typed a range at a time, made whole again.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use motetrail::derive::share::stage::Kind;

use super::engine::{Engine, Row, rows_of, stream_of};
use super::exports::{below, settle, typed};
use super::shares::{agrees, fleet};

/// Number and export of a row of a range's files.
fn range_of(row: &Row) -> Option<(usize, String)> {
    let mut parts = row.name.splitn(4, '/');
    let (folder, number) = (parts.next()?, parts.next()?);
    let number = number.parse().ok().filter(|_| ["ranges", "typed"].contains(&folder))?;
    Some((number, parts.nth(1)?.to_owned()))
}

/// Types all exports, those above so many bytes in ranges; gives what came of it and how many ranges there were.
fn typed_in_ranges(engine: &Engine, every: &str) -> (Vec<Row>, usize) {
    let key = engine.folder.path().join("elsewhere.key");
    fs::write(&key, [9; 32]).unwrap();
    let mut exports = Vec::new();
    below(&fleet().join("exports"), "settings/exports", &mut exports);
    let handed = stream_of(&exports.concat(), &engine.seal);
    let cut = engine.run(&["cut", "--every", every], handed).unwrap();
    // Ranges of an export go to different workers, the last range first, and what is not cut goes with them.
    let mut shares: BTreeMap<usize, Vec<Row>> = BTreeMap::new();
    let (mut ranges, mut whole) = (BTreeSet::new(), BTreeSet::new());
    for row in rows_of(&cut, &engine.seal) {
        let share = match range_of(&row) {
            Some((number, file)) => {
                ranges.insert((number, file));
                number % 3
            }
            None => {
                whole.insert(row.name.clone());
                whole.len() % 3
            }
        };
        shares.entry(2 - share).or_default().push(row);
    }
    let mut made = Vec::new();
    for share in shares.values() {
        let answer = typed(engine, &key, stream_of(share, &engine.seal)).unwrap();
        made.extend(rows_of(&answer, &engine.seal));
    }
    let (of_ranges, mut files): (Vec<Row>, Vec<Row>) =
        made.into_iter().partition(|row| range_of(row).is_some());
    let bind = ["bind", "--today", "2026-07-05"];
    let bound = engine.run(&bind, stream_of(&of_ranges, &engine.seal)).unwrap();
    let (again, bound): (Vec<Row>, Vec<Row>) =
        rows_of(&bound, &engine.seal).into_iter().partition(|row| row.name.starts_with("whole/"));
    files.extend(bound);
    let again: BTreeSet<&str> =
        again.iter().filter_map(|row| row.name.strip_prefix("whole/")).collect();
    let again: Vec<Row> =
        exports.concat().into_iter().filter(|row| again.contains(row.name.as_str())).collect();
    let answer = typed(engine, &key, stream_of(&again, &engine.seal)).unwrap();
    files.extend(rows_of(&answer, &engine.seal));
    (files, ranges.len())
}

/// Entries by source and file, without what the bytes of parts are.
fn entries(files: &[Row]) -> BTreeMap<String, serde_json::Value> {
    let entry = |row: &Row| {
        let mut entry: serde_json::Value = serde_json::from_slice(&row.bytes).unwrap();
        for part in entry["parts"].as_array_mut().unwrap() {
            part["hash"].take();
            part["sums"].take();
        }
        (format!("{} {}", entry["source"], entry["file"]), entry)
    };
    files.iter().filter(|row| row.kind == Kind::Entry).map(entry).collect()
}

#[test]
fn exports_in_ranges_of_any_length_come_to_what_they_come_to_as_a_whole() {
    let engine = Engine::of_settings(&fleet());
    let (whole, none) = typed_in_ranges(&engine, "100000000");
    assert_eq!(none, 0);
    let whole = entries(&whole);
    assert!(whole.len() > 5);
    for (every, least) in [("3000", 60), ("40000", 10)] {
        let (files, ranges) = typed_in_ranges(&engine, every);
        assert!(ranges > least, "{ranges} ranges of {every} bytes");
        assert_eq!(entries(&files), whole, "ranges of {every} bytes");
    }
}

#[test]
fn exports_in_ranges_give_the_review_of_one_machine() {
    let mut engine = Engine::of_settings(&fleet());
    let (mut files, ranges) = typed_in_ranges(&engine, "20000");
    assert!(ranges > 10, "{ranges}");
    settle(&mut engine, &mut files);
    engine.take_store(files);
    engine
        .derive(2, |engine, stage, _, input| engine.run(&["share", stage.word()], input).unwrap());
    agrees(&engine.report());
}

#[test]
fn ranges_of_which_one_is_missing_are_no_export() {
    let engine = Engine::of_settings(&fleet());
    let mut exports = Vec::new();
    below(&fleet().join("exports"), "settings/exports", &mut exports);
    let cut = engine.run(&["cut", "--every", "3000"], stream_of(&exports.concat(), &engine.seal));
    let mut rows = rows_of(&cut.unwrap(), &engine.seal);
    let (_, file) = rows.iter().find_map(range_of).unwrap();
    rows.retain(|row| range_of(row).is_some_and(|(number, of)| number != 1 && of == file));
    let key = engine.folder.path().join("elsewhere.key");
    fs::write(&key, [9; 32]).unwrap();
    let typed = typed(&engine, &key, stream_of(&rows, &engine.seal)).unwrap();
    let said = engine.run(&["bind", "--today", "2026-07-05"], typed).unwrap_err();
    assert!(said.contains(&file) && said.contains("ranges, expected"), "{said}");
}
