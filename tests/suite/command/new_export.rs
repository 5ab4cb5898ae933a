//! `peek` and `map` from outside, on exports of the demo and on files that are not what they seem.

use std::fs;
use std::io::Read;
use std::path::Path;

use super::{run, text};

fn demo(file: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo").join(file);
    path.to_string_lossy().into_owned()
}

/// What a command prints, which must succeed.
fn printed(arguments: &[&str]) -> (String, String) {
    let folder = tempfile::tempdir().unwrap();
    let done = run(folder.path(), arguments);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    (text(&done.stdout), text(&done.stderr))
}

#[test]
fn peek_tells_how_a_text_export_is_written_and_what_to_paste() {
    let (out, _) = printed(&["peek", &demo("exports/desk/tickets-2026-h1.csv")]);
    for words in ["semicolon", "raised", "separator = \";\"", "decimal_mark = \",\""] {
        assert!(out.contains(words), "{words} is not in\n{out}");
    }
    assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");
}

#[test]
fn peek_prints_a_workbook_below_its_title_as_a_table() {
    let file = demo("exports/thornmoor/care-2025-q1.xlsx");
    let (out, _) = printed(&["peek", &file]);
    for words in ["workbook", "Thornmoor depot: connector care", "skip_lines = 1", "%Y-%m-%d"] {
        assert!(out.contains(words), "{words} is not in\n{out}");
    }
    let (csv, _) = printed(&["peek", &file, "--csv"]);
    let lines: Vec<&str> = csv.lines().collect();
    assert!(lines[0].starts_with("No,Date,Time,Port,Type,Work,"), "{}", lines[0]);
    // Rows of the sheet: a title, the header, the records.
    let mut book = zip::ZipArchive::new(fs::File::open(&file).unwrap()).unwrap();
    let mut sheet = String::new();
    book.by_name("xl/worksheets/sheet1.xml").unwrap().read_to_string(&mut sheet).unwrap();
    let rows = sheet.matches("<row ").count();
    assert!(rows > 100, "{rows}");
    assert_eq!(lines.len(), rows - 1);
}

#[test]
fn a_file_whose_name_lies_is_a_doubt() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("looks.csv");
    fs::write(&path, "{\"id\": 1, \"result\": \"pass\"}\n{\"id\": 2, \"result\": \"fail\"}\n")
        .unwrap();
    let done = run(folder.path(), &["peek", "looks.csv"]);
    let out = text(&done.stdout);
    assert!(out.contains("The name of the file does not say what it is"), "{out}");
    assert!(out.contains("one JSON object a line"), "{out}");
}

#[test]
fn a_file_that_is_not_there_or_no_workbook_ends_with_3_and_its_name() {
    let folder = tempfile::tempdir().unwrap();
    let gone = run(folder.path(), &["peek", "gone.csv"]);
    assert_eq!(gone.status.code(), Some(3));
    assert!(text(&gone.stderr).contains("gone.csv"));
    fs::write(folder.path().join("old.xlsx"), b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 and more")
        .unwrap();
    let old = run(folder.path(), &["peek", "old.xlsx"]);
    assert_eq!(old.status.code(), Some(3));
    assert!(text(&old.stderr).contains("save it as XLSX without a password"), "{old:?}");
}

#[test]
fn map_drafts_settings_that_parse_and_marks_its_questions() {
    let fleet = demo("fleet.toml");
    let file = demo("exports/desk/tickets-2026-h1.csv");
    let (out, err) = printed(&["map", &file, "--table", "faults", "--fleet", &fleet]);
    let draft: toml::Table = out.parse().unwrap_or_else(|e| panic!("{e}\n{out}"));
    let source = &draft["source"].as_array().unwrap()[0];
    assert_eq!(source["name"].as_str(), Some("tickets-2026-h1"));
    let files = source["files"].as_array().unwrap();
    assert!(files[0].as_str().unwrap().starts_with("exports/desk/"), "{files:?}");
    let record = &source["record"].as_array().unwrap()[0];
    assert_eq!(record["table"].as_str(), Some("faults"));
    let questions = out.lines().filter(|line| line.trim_start().starts_with("# ?")).count();
    assert!(questions > 0);
    assert!(err.contains(&format!("{questions} question")), "{err}");
}
