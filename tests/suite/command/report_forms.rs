//! The forms of a report: its sentences in the terminal, all pages as one file, an archive, the schema of the findings, two
//! reports compared.

use std::fs;
use std::io::Cursor;

use super::{LOOKS, SETTINGS, fleet, run, text};

#[test]
fn the_terminal_says_the_sentences_of_the_front_page_and_then_where_it_is() {
    let folder = fleet(SETTINGS, LOOKS);
    let done = run(folder.path(), &["review", "fleet.toml", "--out", "out"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let lines: Vec<String> = text(&done.stdout).lines().map(str::to_owned).collect();
    assert_eq!(lines.last().unwrap(), "out/2026-Q1/report.html");
    let said: Vec<&str> =
        lines.iter().filter_map(|line| line.split_once(". ")).map(|(_, said)| said).collect();
    assert!((1..=6).contains(&said.len()), "{lines:?}");
    let page = fs::read_to_string(folder.path().join("out/2026-Q1/report.html")).unwrap();
    let short = page.split("<ol class=\"short\">").nth(1).unwrap().split("</ol>").next().unwrap();
    assert_eq!(short.matches("<li>").count(), said.len());
    let first = said[0].replace('\'', "&#39;").replace('"', "&quot;");
    assert!(short.contains(&format!("<li>{first}</li>")), "{short}");
}

#[test]
fn everything_can_be_one_file_and_the_next_review_takes_its_place() {
    let folder = fleet(SETTINGS, LOOKS);
    let report = folder.path().join("out/2026-Q1");
    let review = |more: &[&str]| {
        let done = run(
            folder.path(),
            &[&["review", "--quiet", "fleet.toml", "--out", "out"], more].concat(),
        );
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    };
    review(&[]);
    assert!(report.join("pages/first-pass.html").exists());
    review(&["--single"]);
    assert!(!report.join("pages").exists());
    let page = fs::read_to_string(report.join("report.html")).unwrap();
    assert!(page.contains("<section id=\"first_pass\">") && !page.contains("pages/"));
}

#[test]
fn an_archive_holds_every_file_of_the_report_and_replaces_nothing_but_one_of_its_own() {
    let folder = fleet(SETTINGS, LOOKS);
    let review =
        || run(folder.path(), &["review", "--quiet", "--zip", "fleet.toml", "--out", "out"]);
    let done = review();
    assert_eq!(text(&done.stdout), "out/2026-Q1.zip\nout/2026-Q1/report.html\n");
    let path = folder.path().join("out/2026-Q1.zip");
    let bytes = fs::read(&path).unwrap();
    let archive = zip::ZipArchive::new(Cursor::new(&bytes)).unwrap();
    let names: Vec<String> = archive.file_names().map(|name| name.unwrap().into_owned()).collect();
    for name in [
        "2026-Q1/report.html",
        "2026-Q1/pages/trust.html",
        "2026-Q1/tables/trust.csv",
        "2026-Q1/tables.xlsx",
    ] {
        assert!(names.iter().any(|held| held == name), "{name} is not in {names:?}");
    }
    assert_eq!(review().status.code(), Some(0), "an archive of ours is replaced");
    assert!(fs::read(&path).unwrap() == bytes, "the same report, the same bytes");
    fs::write(&path, "somebody else's").unwrap();
    let refused = review();
    assert_eq!(refused.status.code(), Some(3));
    assert!(text(&refused.stderr).contains("2026-Q1.zip"), "{}", text(&refused.stderr));
    assert_eq!(fs::read(&path).unwrap(), b"somebody else's");
}

#[test]
fn the_schema_is_printed_without_settings() {
    let folder = fleet(SETTINGS, LOOKS);
    let done = run(folder.path(), &["review", "--schema"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let schema: serde_json::Value = serde_json::from_str(&text(&done.stdout)).unwrap();
    assert_eq!(schema["properties"]["schema_version"]["const"], 2);
    assert_eq!(run(folder.path(), &["review"]).status.code(), Some(2), "settings are needed else");
}

#[test]
fn two_reports_are_compared_and_what_is_none_is_named() {
    let folder = fleet(SETTINGS, LOOKS);
    run(folder.path(), &["review", "--quiet", "fleet.toml", "--out", "out"]);
    let done = run(folder.path(), &["compare", "out/2026-Q1", "out/2026-Q1"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    assert!(text(&done.stdout).contains("2026-Q1 against 2026-Q1"), "{}", text(&done.stdout));
    let missing = run(folder.path(), &["compare", "out/2026-Q1", "out/2025-Q4"]);
    assert_eq!(missing.status.code(), Some(3));
    assert!(text(&missing.stderr).contains("out/2025-Q4"), "{}", text(&missing.stderr));
}
