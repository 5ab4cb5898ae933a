//! `peek` and `intake` on files that are not text: what is printed of them, and what is refused.

use std::fs;
use std::sync::Arc;

use arrow::array::{ArrayRef, BinaryArray, Int64Array};
use parquet::file::properties::WriterProperties;

use super::{LOOKS, SETTINGS, fleet, run, text};
use crate::tabular::other_kinds::kinds;
use crate::tabular::parquet_inputs::written;

#[test]
fn rows_of_parquet_without_any_value_are_printed_and_bytes_are_hexadecimal() {
    let bytes: BinaryArray =
        vec![Some(&b"P1"[..]), None, Some(b"\xFF\0"), Some(b"\x1B]0;x")].into();
    let numbers = Int64Array::from(vec![Some(1), None, None, Some(4)]);
    let columns: Vec<(&str, ArrayRef)> = vec![("n", Arc::new(numbers)), ("b", Arc::new(bytes))];
    let folder = tempfile::tempdir().unwrap();
    let file = written(columns, WriterProperties::default());
    fs::write(folder.path().join("a.parquet"), file).unwrap();
    let done = run(folder.path(), &["peek", "--csv", "a.parquet"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let printed = String::from_utf8(done.stdout).unwrap();
    assert_eq!(printed, "n,b\r\n1,P1\r\n,\r\n,0xff00\r\n4,0x1b5d303b78\r\n");
    // A single column: a blank line would be no row.
    let alone: Vec<(&str, ArrayRef)> = vec![("n", Arc::new(Int64Array::from(vec![None, Some(2)])))];
    let file = written(alone, WriterProperties::default());
    fs::write(folder.path().join("b.parquet"), file).unwrap();
    let done = run(folder.path(), &["peek", "--csv", "b.parquet"]);
    assert_eq!(text(&done.stdout), "n\r\n\"\"\r\n2\r\n");
}

#[test]
fn intake_shows_bytes_of_parquet_as_peek_does() {
    let folder = fleet(&SETTINGS.replace("looks.csv", "looks.parquet"), LOOKS);
    let word = |word: &'static [u8]| -> ArrayRef { Arc::new(BinaryArray::from(vec![word])) };
    let columns = vec![
        ("id", word(b"1")),
        ("at", word(b"2026-02-01 08:00")),
        ("face", word(b"A1")),
        ("stage", word(b"incoming")),
        ("outcome", word(b"\xFF\x01")),
        ("finding", word(b"")),
    ];
    let file = written(columns, WriterProperties::default());
    fs::write(folder.path().join("looks.parquet"), file).unwrap();
    let done = run(folder.path(), &["intake", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(1), "{}", text(&done.stderr));
    let said = text(&done.stdout) + &text(&done.stderr);
    let settings = folder.path().join("fleet.toml");
    let plan = motetrail::settings::read(&settings).unwrap_or_else(|error| panic!("{error}"));
    let store = motetrail::store::Store::open(&plan).unwrap_or_else(|error| panic!("{error}"));
    let rejected = store.quarantine(10).unwrap();
    assert_eq!(rejected.len(), 1, "{said}");
    assert!(rejected[0].reason.contains("0xff01"), "{}", rejected[0].reason);
}

#[test]
fn no_byte_that_is_no_text_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in [
        ("a.csv", &b"id;note\n1;a\xFFb\n2;caf\xC3\xA9\n3;\xE2\x82\n"[..]),
        ("a.ndjson", b"{\"id\":1}\n{\"id\":\"a\xFFb\"}\n"),
    ] {
        fs::write(folder.path().join(name), bytes).unwrap();
        let done = run(folder.path(), &["peek", "--csv", name]);
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
        let printed = String::from_utf8(done.stdout).unwrap();
        assert!(printed.lines().count() >= 3, "{printed}");
    }
}

#[test]
fn files_of_other_kinds_are_refused_by_every_command_under_whatever_name() {
    for (bytes, what, advice) in kinds() {
        for name in ["looks.csv", "looks.xls", "looks.json"] {
            let folder = fleet(&SETTINGS.replace("looks.csv", name), LOOKS);
            fs::write(folder.path().join(name), &bytes).unwrap();
            for arguments in [&["peek", name][..], &["map", name], &["intake", "fleet.toml"]] {
                let done = run(folder.path(), arguments);
                let said = text(&done.stderr);
                assert_eq!(done.status.code(), Some(3), "{arguments:?} {what}: {said}");
                let told = said.contains(name) && said.contains(what) && said.contains(advice);
                assert!(told, "{arguments:?} {what}: {said}");
                // What intake took instead is said: nothing.
                let rows = text(&done.stdout);
                let none = rows.is_empty()
                    || rows.contains("         0          0          0          0          0  all");
                assert!(none, "{arguments:?} {what}: {rows}");
            }
        }
    }
}

#[test]
fn an_encrypted_parquet_file_is_told_as_locked() {
    let folder = fleet(&SETTINGS.replace("looks.csv", "looks.parquet"), LOOKS);
    let bytes = [&b"PARE"[..], &[7; 64], b"PARE"].concat();
    fs::write(folder.path().join("looks.parquet"), bytes).unwrap();
    for arguments in [&["peek", "looks.parquet"][..], &["intake", "fleet.toml"]] {
        let done = run(folder.path(), arguments);
        assert_eq!(done.status.code(), Some(3));
        assert!(text(&done.stderr).contains("locked with a password"), "{}", text(&done.stderr));
    }
}

#[test]
fn an_array_of_objects_is_taken_in_like_lines_of_them() {
    let objects = "[\n {\"id\": 1, \"at\": \"2026-02-01 08:00\", \"face\": \"A1\", \"stage\": \"incoming\", \
                   \"outcome\": \"pass\", \"finding\": null}\n]\n";
    let folder = fleet(&SETTINGS.replace("looks.csv", "looks.json"), LOOKS);
    fs::write(folder.path().join("looks.json"), objects).unwrap();
    let done = run(folder.path(), &["intake", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    assert!(
        text(&done.stdout).contains("         1          1          0          0          0  all")
    );
    let peek = run(folder.path(), &["peek", "looks.json"]);
    assert!(text(&peek.stdout).contains("an array of JSON objects"), "{}", text(&peek.stdout));
}
