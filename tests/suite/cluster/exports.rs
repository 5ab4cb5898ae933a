//! From exports to the report on workers: typed in shares, settled, derived.

use std::fs;
use std::path::Path;

use motetrail::derive::share::stage::Kind;

use super::engine::{Engine, Row, fed, pieces, rows_of, stream_of};
use super::shares::{agrees, fleet, holds};

/// Files below a folder, named from it.
fn below(folder: &Path, name: &str, found: &mut Vec<Vec<Row>>) {
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

fn typed(engine: &Engine, key: &Path, input: Vec<u8>) -> Result<Vec<u8>, String> {
    let mut worker = engine.worker(&["type", "--today", "2026-07-05"]);
    worker.env("MOTETRAIL_PEOPLE_KEY", key);
    fed(worker, input)
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
    let typed: Vec<Row> = files.clone();
    let settled = engine.run(&["settle"], stream_of(&typed, &engine.seal)).unwrap();
    files.extend(rows_of(&settled, &engine.seal));
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
    let mut unit = exports.into_iter().find(|rows| rows[0].name.ends_with(".csv")).unwrap();
    unit.truncate(1);
    unit[0].bytes = vec![0; 4096];
    let answer = typed(&engine, &key, stream_of(&unit, &engine.seal)).unwrap();
    let told = rows_of(&answer, &engine.seal);
    let name = unit[0].name.strip_prefix("settings/").unwrap();
    let [told] = told.as_slice() else { panic!("{told:?}") };
    assert_eq!((told.kind, told.name.as_str()), (Kind::Unread, name));
    let said: serde_json::Value = serde_json::from_slice(&told.bytes).unwrap();
    assert!(said["message"].as_str().unwrap().starts_with(name), "{said}");
    // Who was erased where the key is from must be known here.
    fs::write(key.with_file_name("forgotten.json"), "{}").unwrap();
    let said = typed(&engine, &key, stream_of(&unit, &engine.seal)).unwrap_err();
    assert!(said.contains("forgotten.json"), "{said}");
}
