//! One JSON array of objects, read like a line an object.

use motetrail::tabular::{Format, LONGEST_ROW, RowFault};

use super::given::given;
use super::json_lines::{all, open, rows};

fn refused(text: &str) -> String {
    match open(text) {
        Err(error) => error,
        Ok(mut rows) => given(&mut rows).unwrap_err().to_string(),
    }
}

#[test]
fn elements_are_rows_with_the_line_where_each_begins() {
    let text = "\u{FEFF}[\n  {\n    \"port\": \"P]1,\\\"{\",\n    \"tags\": [1, {\"a\": \"}\"}]\n  },\n  \
                {\"port\": null, \"face\": {\"side\": \"A\"}}, {}\n]\n";
    let given = all(text);
    let cells: Vec<&Vec<String>> = given.iter().map(|row| &row.1).collect();
    assert_eq!(cells[0], &["port", "tags", "face.side"]);
    assert_eq!(cells[1], &["P]1,\"{", "[1, {\"a\": \"}\"}]", ""]);
    assert_eq!(cells[2], &["", "", "A"]);
    assert_eq!(cells[3], &["", "", ""]);
    let lines: Vec<u64> = given[1..].iter().map(|row| row.0).collect();
    assert_eq!(lines, [2, 6, 6]);
    assert!(open(text).unwrap().is_array() && !open("{\"a\":1}").unwrap().is_array());
}

#[test]
fn an_array_reads_like_its_objects_a_line_each() {
    let objects: Vec<String> =
        (0..3000).map(|n| format!("{{\"n\":{n},\"text\":\"a\\\\\\\"] {n}\"}}")).collect();
    let array = format!("[{}]", objects.join(",\n "));
    assert_eq!(rows(&array), rows(objects.join("\n")));
    assert_eq!(rows("[]"), [Vec::<String>::new()]);
    assert_eq!(rows(" [\n]\n"), [Vec::<String>::new()]);
}

#[test]
fn elements_that_are_no_objects_are_faulty_rows() {
    let given = all("[{\"a\":1}, 2, \"x, ]\", [3, 4], null, {\"a\":6,\"a\":7}, true]");
    let faults: Vec<Option<RowFault>> = given.iter().map(|row| row.2).collect();
    let no = Some(RowFault::NoObject);
    assert_eq!(faults, [None, None, no, no, no, no, Some(RowFault::DoubleKey), no]);
    assert_eq!(given[3].1, ["\"x, ]\""]);
    assert_eq!(given[7].1, ["true"]);
    let long = format!("[{{\"a\":\"{}\"}},{{\"a\":\"b\"}}]", "x".repeat(LONGEST_ROW));
    let given = all(long);
    assert_eq!(given[1].2, Some(RowFault::TooLong));
    assert_eq!(given[2].1, ["b"]);
}

#[test]
fn an_array_that_is_not_whole_is_damage() {
    assert!(refused("[{\"a\":1},{\"a\":2}").contains("its array has no end"));
    assert!(refused("[{\"a\":1},{\"a\":").contains("its array has no end"));
    assert!(refused("[{\"a\":1}] {\"a\":2}").contains("text stands behind its array"));
    assert!(refused("[{\"a\":1} {\"a\":2}]").contains("no comma stands between"));
}

#[test]
fn an_array_is_told_by_its_first_bytes_and_its_ending() {
    assert_eq!(Format::of_magic(b"\xEF\xBB\xBF\n[ {\"a\": 1"), Some(Format::JsonLines));
    assert_eq!(Format::of_magic(b"[]\n"), Some(Format::JsonLines));
    assert_eq!(Format::of("looks.JSON"), Format::JsonLines);
    assert_eq!(Format::of("looks.json.gz"), Format::JsonLines);
    // Arrays a line are no rows of a table with names.
    assert_eq!(Format::of_magic(b"[1,2]\n[3,4]\n"), None);
}
