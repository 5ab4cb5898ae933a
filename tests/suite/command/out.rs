//! `--out`: tried before the work, and nothing in it replaced that is not a report of ours.

use std::fs;
use std::path::Path;

use super::{LOOKS, SETTINGS, fleet, run, text};

/// A review into `out`; its exit code and what it said.
fn review(folder: &Path, out: &str, more: &[&str]) -> (Option<i32>, String) {
    let done = run(folder, &[&["review", "--quiet", "fleet.toml", "--out", out], more].concat());
    if done.status.code() != Some(0) {
        assert_eq!(text(&done.stdout), "");
    }
    (done.status.code(), text(&done.stderr))
}

#[test]
fn a_folder_that_is_no_report_is_refused_by_name_before_the_work() {
    let folder = fleet(SETTINGS, LOOKS);
    let held = folder.path().join("out/2026-Q1");
    fs::create_dir_all(&held).unwrap();
    fs::write(held.join("thesis.txt"), "years of work").unwrap();
    let (code, said) = review(folder.path(), "out", &["--period", "2026-Q1"]);
    assert_eq!(code, Some(3), "{said}");
    assert!(said.contains("out/2026-Q1") && said.contains("--out"), "{said}");
    assert!(!folder.path().join("store").exists(), "the work had begun");
    // Without the period it is known only once the records have been looked at.
    let (code, said) = review(folder.path(), "out", &[]);
    assert_eq!(code, Some(3), "{said}");
    assert!(said.contains("out/2026-Q1"), "{said}");
    fs::write(held.join("run.json"), "{\"program\": \"another\", \"schema_version\": 1}").unwrap();
    assert_eq!(review(folder.path(), "out", &[]).0, Some(3));
    assert_eq!(fs::read_to_string(held.join("thesis.txt")).unwrap(), "years of work");
    assert_eq!(fs::read_dir(folder.path().join("out")).unwrap().count(), 1);
}

#[test]
fn a_purchase_case_takes_no_other_folders_place_either() {
    let folder = fleet(SETTINGS, LOOKS);
    let held = folder.path().join("out/payback-2026-Q1");
    fs::create_dir_all(&held).unwrap();
    fs::write(held.join("thesis.txt"), "years of work").unwrap();
    let done = run(folder.path(), &["payback", "fleet.toml", "--out", "out"]);
    assert_eq!(done.status.code(), Some(3), "{}", text(&done.stderr));
    assert!(text(&done.stderr).contains("out/payback-2026-Q1"), "{}", text(&done.stderr));
    assert_eq!(fs::read_to_string(held.join("thesis.txt")).unwrap(), "years of work");
}

#[test]
fn a_report_of_ours_is_replaced_and_notes_in_it_are_kept() {
    let folder = fleet(SETTINGS, LOOKS);
    assert_eq!(review(folder.path(), "out", &[]), (Some(0), String::new()));
    let report = folder.path().join("out/2026-Q1");
    let whole = fs::read(report.join("report.html")).unwrap();
    fs::write(report.join("notes.txt"), "mine").unwrap();
    fs::write(report.join("report.html"), "spoilt").unwrap();
    assert_eq!(review(folder.path(), "out", &[]), (Some(0), String::new()));
    assert_eq!(fs::read(report.join("report.html")).unwrap(), whole);
    assert_eq!(fs::read_to_string(report.join("notes.txt")).unwrap(), "mine");
    assert_eq!(fs::read_dir(folder.path().join("out")).unwrap().count(), 1);
}

#[test]
fn an_out_that_cannot_be_a_folder_ends_with_3_before_the_work() {
    let folder = fleet(SETTINGS, LOOKS);
    for out in ["looks.csv", "looks.csv/reports"] {
        let (code, said) = review(folder.path(), out, &[]);
        assert_eq!(code, Some(3), "{said}");
        assert!(said.contains(out) && said.contains("cannot be written"), "{said}");
        assert!(!folder.path().join("store").exists(), "the work had begun");
    }
    assert_eq!(fs::read_to_string(folder.path().join("looks.csv")).unwrap(), LOOKS);
}
