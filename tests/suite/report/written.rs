//! The folder: same bytes, replaced whole, left alone when writing fails.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use motetrail::report::{Inputs, ReportError, write};

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
    let written = write(&inputs, &folder.path().join("again")).unwrap();
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
    fs::write(folder.join("charts.old"), "x").unwrap();
    report(&sample::empty(), &folder);
    assert_eq!(
        names(&folder),
        ["charts", "findings.json", "report.html", "run.json", "tables", "tables.xlsx"]
    );
    assert_eq!(names(&parent.path().join("reports")), ["2026-Q2"]);
}

#[test]
fn what_a_stopped_run_left_beside_the_folder_is_gone_after_the_next() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("2026-Q2");
    report(&sample::empty(), &folder);
    fs::create_dir(parent.path().join(".fresh-2026-Q2")).unwrap();
    fs::write(parent.path().join(".fresh-2026-Q2/report.html"), "half").unwrap();
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
    assert!(matches!(&error, ReportError::Write { .. }), "{error}");
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
