//! Rows of an export: what its columns say together and no column says by itself.

use std::collections::{BTreeMap, BTreeSet};

/// Rows of an export as texts, some thousand of them at most.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SampleRows {
    /// Names of the columns.
    pub names: Vec<String>,
    /// Trimmed texts, as many as names or fewer.
    pub rows: Vec<Vec<String>>,
}

/// Rows from which counts of their texts say something.
const ENOUGH: usize = 20;

impl SampleRows {
    /// Whether there are enough to go by.
    pub fn tell(&self) -> bool {
        self.rows.len() >= ENOUGH
    }

    /// The texts of these columns, row by row; rows in which one of them is empty are left out.
    pub fn of<'r>(&'r self, columns: &[&str]) -> Vec<Vec<&'r str>> {
        let places: Vec<usize> = columns
            .iter()
            .filter_map(|column| self.names.iter().position(|name| name == column))
            .collect();
        if places.len() < columns.len() {
            return Vec::new();
        }
        let texts = |row: &'r Vec<String>| -> Option<Vec<&'r str>> {
            let texts = places.iter().map(|place| row.get(*place).map_or("", String::as_str));
            let texts: Vec<&str> = texts.collect();
            texts.iter().all(|text| !text.is_empty()).then_some(texts)
        };
        self.rows.iter().filter_map(texts).collect()
    }

    /// Rows in which all of the columns are given, and how many different ones.
    pub fn distinct(&self, columns: &[&str]) -> (usize, usize) {
        let rows = self.of(columns);
        let different: BTreeSet<&Vec<&str>> = rows.iter().collect();
        (rows.len(), different.len())
    }

    /// Texts of the first column, each with the different texts of the second beside it.
    pub fn beside(&self, one: &str, other: &str) -> BTreeMap<&str, BTreeSet<&str>> {
        let mut beside: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for row in self.of(&[one, other]) {
            if let [one, other] = row.as_slice() {
                beside.entry(one).or_default().insert(other);
            }
        }
        beside
    }
}
