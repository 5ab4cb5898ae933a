//! Reads the worked examples under `tests/reference`.

use super::digits;
use serde_json::Value;
use std::path::PathBuf;

fn path(group: &str, file: &str) -> PathBuf {
    let root = env!("CARGO_MANIFEST_DIR");
    [root, "tests", "reference", group, file].iter().collect()
}

fn cases(group: &str) -> Vec<Value> {
    let text = std::fs::read_to_string(path(group, "expected.json")).unwrap();
    let whole: Value = serde_json::from_str(&text).unwrap();
    whole["cases"].as_array().unwrap().clone()
}

/// The case `id` of a group.
pub fn case(group: &str, id: &str) -> Value {
    digits::reading(id);
    let found = cases(group).into_iter().find(|c| c["id"] == id);
    found.unwrap_or_else(|| panic!("no case {id}"))
}

/// The names of all cases.
pub fn all_cases() -> Vec<String> {
    let folders = std::fs::read_dir(path("", "")).unwrap().map(|entry| entry.unwrap());
    let groups = folders.filter(|entry| entry.path().is_dir()).map(|entry| entry.file_name());
    let of_group = |group: std::ffi::OsString| cases(group.to_str().unwrap());
    groups.flat_map(of_group).map(|case| case["id"].as_str().unwrap().to_owned()).collect()
}

/// The `expected` object of a case.
pub fn expected(group: &str, id: &str) -> Value {
    case(group, id)["expected"].clone()
}

/// A table: rows of cells by column name.
pub struct Table {
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    pub fn read(group: &str, file: &str) -> Self {
        let named = format!("\"{file}\"");
        let case = cases(group).into_iter().find(|case| case.to_string().contains(&named));
        digits::reading(case.as_ref().map_or(file, |case| case["id"].as_str().unwrap()));
        let text = std::fs::read_to_string(path(group, file)).unwrap();
        let cells = |line: &str| line.split(',').map(|c| c.trim_matches('"').to_string()).collect();
        let mut lines = text.lines();
        Self { names: cells(lines.next().unwrap()), rows: lines.map(cells).collect() }
    }

    pub fn text(&self, name: &str) -> Vec<String> {
        let at = self.names.iter().position(|n| n == name).unwrap_or_else(|| panic!("no {name}"));
        self.rows.iter().map(|r| r[at].clone()).collect()
    }

    /// Numbers; an empty cell is NaN.
    pub fn numbers(&self, name: &str) -> Vec<f64> {
        self.text(name).iter().map(|c| c.parse().unwrap_or(f64::NAN)).collect()
    }
}

/// Fails unless `got` is within `abs + rel * |want|` of `want`.
#[track_caller]
pub fn close(got: f64, want: f64, rel: f64, abs: f64) {
    assert!((got - want).abs() <= abs + rel * want.abs(), "got {got:e}, want {want:e}");
    digits::compared(got, want);
}

/// The same against a number of a case.
#[track_caller]
pub fn close_to(got: impl Into<Option<f64>>, want: &Value, rel: f64, abs: f64) {
    let got = got.into().expect("a number was expected");
    close(got, want.as_f64().expect("the case has a number"), rel, abs);
}
