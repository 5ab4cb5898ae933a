//! From exports to the report on workers: typed in shares, settled, derived.

use std::fs;
use std::path::Path;

use motetrail::derive::share::stage::Kind;

use super::engine::{Engine, Row, fed, pieces, rows_of, stream_of};
use super::shares::{agrees, fleet, holds};

/// Files below a folder, named from it.
pub(super) fn below(folder: &Path, name: &str, found: &mut Vec<Vec<Row>>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = format!("{name}/{}", path.file_name().unwrap().to_str().unwrap());
        if path.is_dir() {
            below(&path, &name, found);
        } else {
            found.push(pieces(&name, &path));
        }
    }
}

pub(super) fn typed(engine: &Engine, key: &Path, input: Vec<u8>) -> Result<Vec<u8>, String> {
    let mut worker = engine.worker(&["type", "--today", "2026-07-05"]);
    worker.env("MOTETRAIL_PEOPLE_KEY", key);
    fed(worker, input)
}

/// Decides which records stand, in five shares each way: adds the manifest and the lists of those that do not.
pub(super) fn settle(engine: &mut Engine, files: &mut Vec<Row>) {
    let (entries, typed): (Vec<Row>, Vec<Row>) =
        files.drain(..).partition(|row| row.kind == Kind::Entry);
    let ledger = engine.run(&["ledger"], stream_of(&entries, &engine.seal)).unwrap();
    engine.send("typed", &ledger);
    let wanted = engine.run(&["files"], stream_of(&[], &engine.seal)).unwrap();
    let wanted: serde_json::Value = serde_json::from_slice(&wanted).unwrap();
    let parts = |place: usize| -> Vec<Row> {
        let names = wanted["exports"][place].as_array().unwrap().iter();
        let names: Vec<&str> = names.map(|name| name.as_str().unwrap()).collect();
        typed.iter().filter(|row| names.contains(&row.name.as_str())).cloned().collect()
    };
    let exports = wanted["exports"].as_array().unwrap().len();
    let share = |task: &str, rows: &[(usize, Row)]| -> Vec<Row> {
        let mut made = Vec::new();
        for number in (0..5).rev() {
            let own = rows.iter().filter(|(unit, _)| unit % 5 == number);
            let own: Vec<Row> = own.map(|(_, row)| row.clone()).collect();
            let answer = engine.run(&[task], stream_of(&own, &engine.seal)).unwrap();
            made.extend(rows_of(&answer, &engine.seal));
        }
        made
    };
    let placed = |rows: Vec<Row>| rows.into_iter().map(|row| (row.place as usize, row));
    let files_of = |place: usize| parts(place).into_iter().map(move |row| (place, row));
    let mut of_exports: Vec<(usize, Row)> = (0..exports).flat_map(files_of).collect();
    let claims = share("claims", &of_exports);
    let verdicts = share("judge", &placed(claims).collect::<Vec<_>>());
    assert!(!verdicts.is_empty(), "the demo repeats records");
    of_exports.extend(placed(verdicts));
    let (settled, dropped): (Vec<Row>, Vec<Row>) =
        share("fates", &of_exports).into_iter().partition(|row| row.kind == Kind::Entry);
    let entries = [entries, settled].concat();
    let manifest = engine.run(&["ledger"], stream_of(&entries, &engine.seal)).unwrap();
    files.extend(typed);
    files.extend(dropped);
    files.extend(rows_of(&manifest, &engine.seal));
    // The manifest before anything was settled is of no use any more.
    engine.with.pop();
}

#[test]
fn exports_typed_and_settled_by_workers_give_the_review_of_one_machine() {
    let mut engine = Engine::of_settings(&fleet());
    let key = engine.folder.path().join("elsewhere.key");
    let secret: [u8; 32] = std::array::from_fn(|place| 7 * place as u8 + 3);
    fs::write(&key, secret).unwrap();
    let mut exports = Vec::new();
    below(&fleet().join("exports"), "settings/exports", &mut exports);
    assert!(exports.len() > 5);
    let mut files = Vec::new();
    // Every third export to the same worker, the last worker first.
    for share in (0..3).rev() {
        let own: Vec<Row> = exports.iter().skip(share).step_by(3).flatten().cloned().collect();
        let answer = typed(&engine, &key, stream_of(&own, &engine.seal)).unwrap();
        files.extend(rows_of(&answer, &engine.seal));
    }
    settle(&mut engine, &mut files);
    assert!(files.iter().all(|row| row.kind == Kind::File && !holds(&row.bytes, &secret)));
    engine.take_store(files);
    engine
        .derive(2, |engine, stage, _, input| engine.run(&["share", stage.word()], input).unwrap());
    agrees(&engine.report());
}

#[test]
fn a_typing_worker_without_a_key_ends_and_an_export_that_cannot_be_read_is_told_of() {
    let engine = Engine::of_settings(&fleet());
    let said = engine.run(&["type", "--today", "2026-07-05"], stream_of(&[], &engine.seal));
    assert!(said.unwrap_err().contains("MOTETRAIL_PEOPLE_KEY"));
    let key = engine.folder.path().join("elsewhere.key");
    fs::write(&key, [1; 32]).unwrap();
    let mut exports = Vec::new();
    below(&fleet().join("exports"), "settings/exports", &mut exports);
    let find = |end: &str| exports.iter().find(|rows| rows[0].name.ends_with(end)).unwrap().clone();
    let (whole, packed, mut unit) =
        (find("/tickets-2025-h1.csv"), find(".csv.gz"), find("/tickets-2025-h1.csv"));
    unit.truncate(1);
    unit[0].bytes = vec![0; 4096];
    let answer = typed(&engine, &key, stream_of(&unit, &engine.seal)).unwrap();
    let told = rows_of(&answer, &engine.seal);
    let name = unit[0].name.strip_prefix("settings/").unwrap();
    let [told] = told.as_slice() else { panic!("{told:?}") };
    assert_eq!((told.kind, told.name.as_str()), (Kind::Unread, name));
    let said: serde_json::Value = serde_json::from_slice(&told.bytes).unwrap();
    assert!(said["message"].as_str().unwrap().starts_with(name), "{said}");
    // One that ends in the middle: after which rows, and at which line.
    let mut cut = packed;
    let bytes = &mut cut[0].bytes;
    bytes.truncate(bytes.len() / 2);
    let at = engine.folder.path().join("at");
    let mut worker = engine.worker(&["type", "--today", "2026-07-05"]);
    worker.arg("--at").arg(&at).env("MOTETRAIL_PEOPLE_KEY", &key);
    let told = rows_of(&fed(worker, stream_of(&cut, &engine.seal)).unwrap(), &engine.seal);
    let said = String::from_utf8_lossy(&told[0].bytes);
    let (_, rest) = said.split_once("found damage after ").unwrap();
    let (rows, rest) = rest.split_once(" rows, at line ").unwrap();
    let (line, _) = rest.split_once(' ').unwrap();
    let [rows, line] = [rows, line].map(|number| number.parse::<u64>().unwrap());
    // Of this export every row is a line, and the first is the header.
    assert!(rows > 10 && line == rows + 2, "{said}");
    // Where an export is read to its end, that is what stands where the reading is told.
    let mut worker = engine.worker(&["type", "--today", "2026-07-05"]);
    worker.arg("--at").arg(&at).env("MOTETRAIL_PEOPLE_KEY", &key);
    fed(worker, stream_of(&whole, &engine.seal)).unwrap();
    let reached = fs::read_to_string(&at).unwrap();
    let (file, line) = reached.split_once(':').unwrap();
    let lines = String::from_utf8_lossy(&whole[0].bytes).lines().count();
    assert_eq!((file, line.parse().ok()), (name, Some(lines)));
    // Who was erased where the key is from must be known here.
    fs::write(key.with_file_name("forgotten.json"), "{}").unwrap();
    let said = typed(&engine, &key, stream_of(&unit, &engine.seal)).unwrap_err();
    assert!(said.contains("forgotten.json"), "{said}");
}
