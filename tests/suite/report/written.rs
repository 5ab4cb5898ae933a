//! The folder: same bytes, replaced whole, left alone when writing fails.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use motetrail::measures::results::Group;
use motetrail::measures::{Review, trust};
use motetrail::report::{Form, Inputs, ReportError, write, write_as};

use super::{FULL, report, sample, text};

/// Every file below a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().to_owned();
                all.insert(name, fs::read(path).unwrap());
            }
        }
    }
    all
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn the_same_review_gives_the_same_bytes_in_whatever_order_files_came() {
    let mut accounts = sample::accounts();
    accounts.reverse();
    let review = sample::full();
    let folder = tempfile::tempdir().unwrap();
    let inputs =
        Inputs { review: &review, accounts: &accounts, seed: 7, settings_hash: "ab".repeat(32) };
    let written = write_as(&inputs, &folder.path().join("again"), Form::OneFile).unwrap();
    let (first, again) = (files(&FULL.path().join("2026-Q2")), files(&written.folder));
    assert_eq!(first.keys().collect::<Vec<_>>(), again.keys().collect::<Vec<_>>());
    for (name, bytes) in &first {
        assert!(again[name] == *bytes, "{} differs", name.display());
    }
    assert_eq!(written.files, first.into_keys().collect::<Vec<_>>());
}

#[test]
fn an_older_report_is_replaced_whole_and_nothing_is_left_beside_it() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("reports/2026-Q2");
    report(&sample::empty(), &folder);
    fs::write(folder.join("tables/of-an-older-version.csv"), "x").unwrap();
    report(&sample::empty(), &folder);
    assert_eq!(
        names(&folder),
        ["findings.json", "report.html", "run.json", "tables", "tables.xlsx"]
    );
    assert!(!folder.join("tables/of-an-older-version.csv").exists());
    assert_eq!(names(&parent.path().join("reports")), ["2026-Q2"]);
}

#[test]
fn files_of_somebody_elses_in_an_older_report_are_carried_over() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("2026-Q2");
    report(&sample::empty(), &folder);
    let own = [("notes.txt", "mine"), ("tables/notes.docx", "too"), ("talk/slides/1.txt", "three")];
    fs::create_dir_all(folder.join("talk/slides")).unwrap();
    for (name, words) in own {
        fs::write(folder.join(name), words).unwrap();
    }
    for _ in 0..2 {
        report(&sample::empty(), &folder);
        for (name, words) in own {
            assert_eq!(text(&folder, name), words);
        }
        assert_eq!(names(parent.path()), ["2026-Q2"]);
    }
    // Stopped after the new report was in place: what stands aside still has files of the user's.
    let aside = parent.path().join(".replaced-2026-Q2");
    fs::create_dir(&aside).unwrap();
    fs::copy(folder.join("run.json"), aside.join("run.json")).unwrap();
    fs::write(aside.join("more.txt"), "four").unwrap();
    report(&sample::empty(), &folder);
    assert_eq!(text(&folder, "more.txt"), "four");
    assert_eq!(names(parent.path()), ["2026-Q2"]);
}

#[test]
fn what_carries_no_mark_of_ours_is_neither_replaced_nor_removed() {
    let review = sample::empty();
    let inputs = Inputs { review: &review, accounts: &[], seed: 7, settings_hash: String::new() };
    let marks = [
        None,
        Some("{}"),
        Some("not JSON"),
        Some("{\"program\": \"motetrail\"}"),
        Some(
            "{\"program\": \"another\", \"schema_version\": 1, \"program_version\": \"1\", \
              \"period\": {\"quarter\": \"2026-Q2\"}, \"settings_blake3\": \"ab\"}",
        ),
    ];
    for place in ["2026-Q2", ".replaced-2026-Q2", ".fresh-2026-Q2"] {
        for mark in marks {
            let parent = tempfile::tempdir().unwrap();
            let held = parent.path().join(place);
            fs::create_dir(&held).unwrap();
            fs::write(held.join("thesis.txt"), "years of work").unwrap();
            if let Some(mark) = mark {
                fs::write(held.join("run.json"), mark).unwrap();
            }
            let before = files(parent.path());
            let error = write(&inputs, &parent.path().join("2026-Q2")).unwrap_err();
            assert!(matches!(&error, ReportError::NotOurs { path } if *path == held), "{error}");
            assert!(files(parent.path()) == before, "{place} {mark:?}");
        }
    }
}

#[cfg(unix)]
#[test]
fn a_link_to_a_report_is_not_replaced() {
    let parent = tempfile::tempdir().unwrap();
    report(&sample::empty(), &parent.path().join("kept"));
    std::os::unix::fs::symlink("kept", parent.path().join("2026-Q2")).unwrap();
    let review = sample::empty();
    let inputs = Inputs { review: &review, accounts: &[], seed: 7, settings_hash: String::new() };
    let error = write(&inputs, &parent.path().join("2026-Q2")).unwrap_err();
    assert!(matches!(&error, ReportError::NotOurs { .. }), "{error}");
    assert_eq!(names(parent.path()), ["2026-Q2", "kept"]);
}

#[test]
fn an_empty_folder_takes_a_report() {
    let parent = tempfile::tempdir().unwrap();
    fs::create_dir_all(parent.path().join("2026-Q2")).unwrap();
    // A run killed before its first byte.
    fs::create_dir_all(parent.path().join(".fresh-2026-Q2")).unwrap();
    fs::write(parent.path().join(".fresh-2026-Q2/run.json"), "").unwrap();
    report(&sample::empty(), &parent.path().join("2026-Q2"));
    assert_eq!(names(parent.path()), ["2026-Q2"]);
}

#[test]
fn what_a_stopped_run_left_beside_the_folder_is_gone_after_the_next() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("2026-Q2");
    report(&sample::empty(), &folder);
    fs::create_dir(parent.path().join(".fresh-2026-Q2")).unwrap();
    fs::write(parent.path().join(".fresh-2026-Q2/report.html"), "half").unwrap();
    fs::copy(folder.join("run.json"), parent.path().join(".fresh-2026-Q2/run.json")).unwrap();
    fs::rename(&folder, parent.path().join(".replaced-2026-Q2")).unwrap();
    report(&sample::empty(), &folder);
    assert_eq!(names(parent.path()), ["2026-Q2"]);
}

#[test]
fn a_run_that_cannot_write_leaves_the_last_report_as_it_was() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("2026-Q2");
    report(&sample::empty(), &folder);
    let before = files(&folder);
    // A file where the old report would step aside.
    fs::write(parent.path().join(".replaced-2026-Q2"), "in the way").unwrap();
    let mut review = sample::empty();
    review.fleet = "Another".to_owned();
    let inputs = Inputs { review: &review, accounts: &[], seed: 7, settings_hash: String::new() };
    let error = write(&inputs, &folder).unwrap_err();
    assert!(matches!(&error, ReportError::NotOurs { .. }), "{error}");
    assert!(error.to_string().contains(".replaced-2026-Q2"), "{error}");
    assert!(files(&folder) == before);
    fs::remove_file(parent.path().join(".replaced-2026-Q2")).unwrap();
    // A report put aside and not put back, and again no way to write the new one.
    fs::rename(&folder, parent.path().join(".replaced-2026-Q2")).unwrap();
    fs::write(parent.path().join(".fresh-2026-Q2"), "in the way").unwrap();
    write(&inputs, &folder).unwrap_err();
    assert!(files(&folder) == before);
}

#[test]
fn a_folder_that_cannot_be_made_or_has_no_name_is_an_error_that_names_it() {
    let parent = tempfile::tempdir().unwrap();
    fs::write(parent.path().join("file"), "x").unwrap();
    let review = sample::empty();
    let inputs = Inputs { review: &review, accounts: &[], seed: 7, settings_hash: String::new() };
    let error = write(&inputs, &parent.path().join("file/2026-Q2")).unwrap_err();
    assert!(error.to_string().contains("file"), "{error}");
    assert!(matches!(write(&inputs, Path::new("..")), Err(ReportError::Nameless { .. })));
    assert_eq!(text(parent.path(), "file"), "x");
}

/// An alias table decides what the records say, though none of its rows is a record: who makes a report again needs it.
#[test]
fn alias_tables_stand_in_the_run_record_with_their_hash() {
    let mut review = sample::empty();
    let own = trust::Own {
        source: Some("joins".to_owned()),
        file: Some("also.csv".to_owned()),
        blake3: Some("cd".repeat(32)),
        read: Some(2),
        ..trust::Own::default()
    };
    let quantity = trust::Quantity::AliasRows;
    let row = trust::Row::count(trust::By::File, Group::default(), quantity, 2, own);
    let run = |review: &Review| {
        let folder = tempfile::tempdir().unwrap();
        let inputs = Inputs { review, accounts: &[], seed: 7, settings_hash: "ab".repeat(32) };
        let written = write(&inputs, &folder.path().join("2026-Q2")).unwrap();
        let text = fs::read(written.folder.join("run.json")).unwrap();
        serde_json::from_slice::<serde_json::Value>(&text).unwrap()
    };
    assert!(run(&review).get("aliases").is_none());
    review.trust.rows.push(row);
    let said = &run(&review)["aliases"][0];
    assert_eq!(said["blake3"], "cd".repeat(32).as_str());
    assert_eq!((said["source"].as_str(), said["file"].as_str()), (Some("joins"), Some("also.csv")));
    assert_eq!(said["rows"], 2);
}
