//! The ten numbers by which a reading of a polluted file is scored: whether it was read at all, and
//! precision, recall and F1 of its header's cells, its records and all of its cells.
//!
//! Source: Vitagliano, Hameed, Jiang, Reisener, Wu & Naumann (2023), "Pollock: A Data Loading
//! Benchmark", PVLDB 16(8), section on metrics [from memory].

use std::collections::BTreeMap;
use std::io::Cursor;

use motetrail::tabular::detect::{Sample, detect, write_table};

use super::polluted_source::Table;

/// What is read of a file with nothing given.
pub fn loaded(bytes: &[u8]) -> Table {
    let detected = detect(&Sample { head: bytes.to_vec(), whole: true, tail: None });
    let mut out = Vec::new();
    write_table(&detected, detected.main, Box::new(Cursor::new(bytes)), &mut out).unwrap();
    parsed(&String::from_utf8_lossy(&out))
}

/// RFC 4180 text as rows: a reader of its own, so that the one under test is not its own judge.
pub fn parsed(text: &str) -> Table {
    let (mut rows, mut row, mut cell, mut quoted) =
        (Table::new(), Vec::new(), String::new(), false);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(std::mem::take(&mut cell)),
            '\r' if !quoted => {}
            '\n' if !quoted => {
                row.push(std::mem::take(&mut cell));
                rows.push(std::mem::take(&mut row));
            }
            other => cell.push(other),
        }
    }
    rows
}

/// The score of a reading, from 0 to 10.
pub fn score(read: &Table, expected: &Table) -> f64 {
    let head = |table: &Table| table.first().cloned().unwrap_or_default();
    let records = |table: &Table| table.iter().skip(1).cloned().collect::<Vec<_>>();
    let cells = |table: &Table| table.iter().flatten().cloned().collect::<Vec<_>>();
    1.0 + three(&head(read), &head(expected))
        + three(&records(read), &records(expected))
        + three(&cells(read), &cells(expected))
}

/// Precision, recall and F1 of one bag of things against another, summed.
fn three<T: Ord>(found: &[T], expected: &[T]) -> f64 {
    let mut left: BTreeMap<&T, usize> = BTreeMap::new();
    expected.iter().for_each(|thing| *left.entry(thing).or_default() += 1);
    let mut hits = 0;
    for thing in found {
        if let Some(count) = left.get_mut(thing).filter(|count| **count > 0) {
            *count -= 1;
            hits += 1;
        }
    }
    let share = |all: usize| {
        if all == 0 {
            f64::from(expected.len() == found.len())
        } else {
            f64::from(hits) / all as f64
        }
    };
    let (precision, recall) = (share(found.len()), share(expected.len()));
    let sum = precision + recall;
    precision + recall + if sum > 0.0 { 2.0 * precision * recall / sum } else { 0.0 }
}
