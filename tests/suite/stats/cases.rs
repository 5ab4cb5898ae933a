//! Compares with the worked examples under `tests/reference`, by the tolerances they come with.

use super::digits;
use super::reference::{self, Table};
use serde_json::Value;

/// One worked example.
pub struct Case {
    pub expected: Value,
    tolerance: Value,
}

pub fn case(group: &str, id: &str) -> Case {
    let found = reference::case(group, id);
    Case { expected: found["expected"].clone(), tolerance: found["tolerance"].clone() }
}

impl Case {
    /// Asserts `|got - want| <= abs + rel |want|`.
    #[track_caller]
    pub fn near(&self, got: f64, want: &Value, what: &str) {
        let part = |name: &str| self.tolerance[name].as_f64().unwrap_or(0.0);
        near(got, number(want), part("abs"), part("rel"), what);
    }

    /// Asserts a log-likelihood to its own absolute tolerance.
    #[track_caller]
    pub fn near_log(&self, got: f64, want: &Value) {
        let abs = self.tolerance["loglik_abs"].as_f64().unwrap();
        near(got, number(want), abs, 0.0, "log-likelihood");
    }
}

#[track_caller]
pub fn near(got: f64, want: f64, abs: f64, rel: f64, what: &str) {
    let gap = (got - want).abs();
    let allowed = abs + rel * want.abs();
    assert!(gap <= allowed, "{what}: got {got}, want {want}, apart {gap:e}");
    digits::compared(got, want);
}

/// A number of a case; infinities are written as text there.
pub fn number(value: &Value) -> f64 {
    let text = || value.as_str().unwrap().parse().unwrap();
    value.as_f64().unwrap_or_else(text)
}

impl Table {
    /// A column of counts.
    pub fn counts(&self, name: &str) -> Vec<u64> {
        self.numbers(name).into_iter().map(|x| x as u64).collect()
    }

    /// The numbers of some columns, row by row.
    pub fn rows(&self, names: &[&str]) -> Vec<Vec<f64>> {
        let columns: Vec<Vec<f64>> = names.iter().map(|name| self.numbers(name)).collect();
        let row = |i| columns.iter().map(|column| column[i]).collect();
        (0..columns[0].len()).map(row).collect()
    }
}
