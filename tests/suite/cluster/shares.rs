//! The demo in shares, by workers without an engine around them.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

use motetrail::derive::Stage;

use super::engine::{Engine, answers, program, rows_of, stream_of};
use crate::review::demo::copy_demo;

/// The demo with its store, and what one machine says of it.
struct Reviewed {
    folder: tempfile::TempDir,
    answers: BTreeMap<String, Vec<u8>>,
}

fn reviewed() -> &'static Reviewed {
    static REVIEWED: OnceLock<Reviewed> = OnceLock::new();
    REVIEWED.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let fleet = folder.path().join("demo");
        copy_demo(&fleet);
        let out = folder.path().join("reports");
        let run = program()
            .args(["review", "--quiet"])
            .arg(fleet.join("fleet.toml"))
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        Reviewed { answers: answers(&out), folder }
    })
}

pub fn fleet() -> std::path::PathBuf {
    reviewed().folder.path().join("demo")
}

#[track_caller]
pub fn agrees(found: &BTreeMap<String, Vec<u8>>) {
    let expected = &reviewed().answers;
    assert_eq!(found.keys().collect::<Vec<_>>(), expected.keys().collect::<Vec<_>>());
    for (name, bytes) in expected {
        let (found, expected) = (&found[name], bytes);
        let differs = || {
            let (found, expected) =
                (String::from_utf8_lossy(found), String::from_utf8_lossy(expected));
            let line =
                found.lines().zip(expected.lines()).find(|(found, expected)| found != expected);
            format!("{line:?}")
        };
        assert!(found == expected, "{name} differs: {}", differs());
    }
}

fn plainly(engine: &Engine, stage: Stage, _: usize, input: Vec<u8>) -> Vec<u8> {
    engine.run(&["share", stage.word()], input).unwrap()
}

fn in_shares(count: usize) {
    let mut engine = Engine::of_store(&fleet());
    engine.derive(count, plainly);
    agrees(&engine.report());
}

#[test]
fn one_share_a_stage_gives_the_review_of_one_machine() {
    in_shares(1);
}

#[test]
fn two_shares_a_stage_give_the_review_of_one_machine() {
    in_shares(2);
}

#[test]
fn seven_shares_a_stage_give_the_review_of_one_machine() {
    in_shares(7);
}

#[test]
fn a_worker_refuses_a_stream_of_other_settings_and_of_another_version() {
    let engine = Engine::of_store(&fleet());
    let mut other = engine.seal.clone();
    other.settings = "0".repeat(64);
    let said = engine.run(&["share", "scan"], stream_of(&[], &other)).unwrap_err();
    assert!(said.contains("motetrail_settings") && said.contains("motetrail cluster"), "{said}");
    let mut other = engine.seal.clone();
    other.version = "0.0.1/1/1/le".into();
    let said = engine.run(&["share", "scan"], stream_of(&[], &other)).unwrap_err();
    assert!(said.contains("found 0.0.1/1/1/le, expected"), "{said}");
}

#[test]
fn a_worker_refuses_settings_that_are_not_those_of_the_job() {
    let engine = Engine::of_settings(&fleet());
    let mut rows = rows_of(&std::fs::read(&engine.with[0]).unwrap(), &engine.seal);
    rows[0].bytes.extend(b"# changed");
    std::fs::write(&engine.with[0], stream_of(&rows, &engine.seal)).unwrap();
    let said = engine.run(&["share", "scan"], stream_of(&[], &engine.seal)).unwrap_err();
    assert!(said.contains("the settings of the job are damaged"), "{said}");
}

#[test]
fn a_job_s_folder_holds_neither_the_key_of_pseudonyms_nor_the_store() {
    let key = std::fs::read(fleet().join("store/people.key")).unwrap();
    let engine = Engine::of_store(&fleet());
    let mut folders = vec![engine.folder.path().to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.file_name() != Some(std::ffi::OsStr::new("motetrail")) {
                let bytes = std::fs::read(&path).unwrap();
                assert!(!holds(&bytes, &key), "{}", path.display());
            }
        }
    }
    assert!(Path::new(&engine.with[0]).exists());
}

pub fn holds(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}
