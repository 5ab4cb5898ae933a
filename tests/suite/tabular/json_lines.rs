//! NDJSON as rows.

use std::io::{Cursor, Read};

use motetrail::tabular::{JsonRows, LONGEST_ROW, Room, RowFault, TableRows};

use super::given::{Given, cells, given};

pub fn open(text: impl AsRef<[u8]>) -> Result<JsonRows, String> {
    let bytes = text.as_ref().to_vec();
    let open = || Ok(Box::new(Cursor::new(bytes.clone())) as Box<dyn Read>);
    JsonRows::open(&open, Room::default()).map_err(|error| error.to_string())
}

pub fn rows(text: impl AsRef<[u8]>) -> Vec<Vec<String>> {
    cells(&mut open(text).unwrap())
}

pub fn all(text: impl AsRef<[u8]>) -> Vec<Given> {
    given(&mut open(text).unwrap()).unwrap()
}

#[test]
fn columns_are_all_keys_in_order_of_their_first_appearance() {
    let text =
        "\u{FEFF}{\"port\":\"P1\",\"ok\":true}\r\n\r\n{\"note\":null,\"port\":\"Größe \\u20ac\"}\n";
    assert_eq!(
        rows(text),
        [vec!["port", "ok", "note"], vec!["P1", "true", ""], vec!["Größe €", "", ""]]
    );
    let lines: Vec<u64> = all(text).iter().map(|row| row.0).collect();
    assert_eq!(lines, [1, 1, 3]);
}

#[test]
fn numbers_stay_as_they_are_written() {
    let text =
        r#"{"a":9007199254740993,"b":1.10,"c":-0,"d":123456789012345678901234567890,"e":1E5}"#;
    assert_eq!(
        rows(text)[1],
        ["9007199254740993", "1.10", "-0", "123456789012345678901234567890", "1E5"]
    );
}

#[test]
fn objects_in_objects_become_columns_and_arrays_stay_json() {
    let text = r#"{"face":{"port":"P1","at":{"row":2}},"tags":["x", {"y":1}],"none":{}}"#;
    assert_eq!(rows(text)[0], ["face.port", "face.at.row", "tags"]);
    assert_eq!(rows(text)[1], ["P1", "2", r#"["x", {"y":1}]"#]);
}

#[test]
fn text_may_hold_line_ends_and_quotes() {
    assert_eq!(rows(r#"{"a":"x\ny \"z\"\t"}"#)[1], ["x\ny \"z\"\t"]);
}

#[test]
fn a_line_that_is_no_object_is_faulty_and_reading_goes_on() {
    let text = "{\"a\":1}\n[1,2]\n{\"a\":2} extra\n{\"a\":\n{\"b\":1,\"a\":3,\"a\":4}\n{\"a\":\"\\ud800\"}\n{\"a\":5}\n";
    let all = all(text);
    let faults: Vec<_> = all.iter().map(|row| (row.0, row.2)).collect();
    let no = Some(RowFault::NoObject);
    assert_eq!(
        faults,
        [
            (1, None),
            (1, None),
            (2, no),
            (3, no),
            (4, no),
            (5, Some(RowFault::DoubleKey)),
            (6, no),
            (7, None)
        ]
    );
    assert_eq!(all[3].1, ["{\"a\":2} extra"]);
    assert_eq!(all[7].1, ["5", ""]);
}

#[test]
fn a_key_that_two_ways_lead_to_is_double() {
    let all = all("{\"a.b\":1,\"a\":{\"b\":2}}\n");
    assert_eq!(all[1].2, Some(RowFault::DoubleKey));
}

#[test]
fn bytes_that_are_no_utf_8_reach_the_check_of_the_row() {
    let mut rows = open(b"{\"a\":1}\n{\"a\":\"\xFF\"}\n").unwrap();
    rows.next_row().unwrap();
    rows.next_row().unwrap();
    let row = rows.next_row().unwrap().unwrap();
    assert!(row.bytes.contains(&0xFF) && row.fault.is_none() && row.line == 2);
}

#[test]
fn lines_too_long_and_nests_too_deep_are_faulty_rows() {
    let long = format!("{{\"a\":\"{}\"}}", "x".repeat(LONGEST_ROW));
    let objects = |depth: usize| format!("{}1{}", "{\"a\":".repeat(depth), "}".repeat(depth));
    let arrays = format!("{{\"a\":{}{}}}", "[".repeat(10_000), "]".repeat(10_000));
    let text =
        [&long, &objects(32), &objects(33), &objects(10_000), &arrays, "{\"b\":1}"].join("\n");
    let faults: Vec<_> = all(&text).into_iter().map(|row| row.2).collect();
    let deep = Some(RowFault::TooDeep);
    assert_eq!(faults, [None, Some(RowFault::TooLong), None, deep, deep, None, None]);
}

#[test]
fn too_many_different_keys_are_refused() {
    let keys = |n: usize| {
        let pairs: Vec<String> = (0..n).map(|key| format!("\"k{key}\":1")).collect();
        format!("{{{}}}\n", pairs.join(","))
    };
    assert_eq!(rows(keys(10_000))[0].len(), 10_000);
    let error = open(keys(10_001)).err().unwrap();
    assert!(error.contains("expected at most 10000"), "{error}");
}

#[test]
fn an_empty_file_has_no_names_and_no_rows() {
    assert_eq!(rows(""), [Vec::<String>::new()]);
    assert_eq!(rows("\n  \n"), [Vec::<String>::new()]);
}

#[test]
fn a_file_that_changes_between_the_readings_is_an_error() {
    let turn = std::cell::Cell::new(0);
    let changing = || {
        turn.set(turn.get() + 1);
        let text = if turn.get() == 1 { "{\"a\":1}\n" } else { "{\"b\":1}\n" };
        Ok(Box::new(Cursor::new(text)) as Box<dyn Read>)
    };
    let mut rows = JsonRows::open(&changing, Room::default()).unwrap();
    let error = given(&mut rows).unwrap_err().to_string();
    assert!(error.contains("expected a file at rest"), "{error}");
}
