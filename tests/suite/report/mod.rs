//! The report of an invented review: what is on the page, in the tables and in the machine-readable files; the same
//! empty, with hostile words, written over an older report, and when writing fails. All data are invented; where a test
//! names no other source, its source is the sample.

mod beyond;
mod changes;
mod compared;
mod dictionary;
mod doubts;
mod machine;
mod open;
mod page;
mod pages;
mod purchases;
mod sample;
mod sample_carriers;
mod sample_changes;
mod sample_entry;
mod sample_faults;
mod sample_intake;
mod sample_looks;
mod sample_models;
mod sample_purchases;
mod sample_trust;
mod sample_worklist;
mod tables;
mod trust;
mod workbook;
mod written;

use std::path::Path;
use std::sync::LazyLock;

use motetrail::measures::Review;
use motetrail::report::{Form, Inputs, Written, write_as};
use tempfile::TempDir;

/// The full sample, written once: its pictures take seconds.
static FULL: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    report(&sample::full(), &folder.path().join("2026-Q2"));
    folder
});

/// A file of the full sample's report.
fn full(name: &str) -> String {
    text(&FULL.path().join("2026-Q2"), name)
}

/// Writes the report of a review with the sample's accounts, all pages as one file: what is on a page is in it.
fn report(review: &Review, folder: &Path) -> Written {
    let accounts = sample::accounts();
    let inputs = Inputs { review, accounts: &accounts, seed: 7, settings_hash: "ab".repeat(32) };
    write_as(&inputs, folder, Form::OneFile).unwrap()
}

/// The text with every space of print a plain one.
fn plain(text: &str) -> String {
    text.replace(['\u{A0}', '\u{202F}', '\u{2007}', '\u{2008}'], " ")
}

/// A file of a report as text.
fn text(folder: &Path, name: &str) -> String {
    std::fs::read_to_string(folder.join(name)).unwrap()
}
