//! Exports that could not be read while the rest was.

use serde::{Deserialize, Serialize};

use crate::intake::IntakeError;
use crate::tabular::TableError;

use crate::store::StoreError;
use crate::store::manifest::form::Manifest;

/// An export that is not taken, and why.
pub(in crate::store) struct Refused {
    pub source: String,
    pub file: String,
    pub error: StoreError,
}

/// An export that an intake could not read. None of its rows was taken.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unread {
    /// Name of the source.
    pub source: String,
    /// Path relative to the settings' folder.
    pub file: String,
    /// What was found, what was expected, what to do, with the file in front: for the user's eyes.
    pub message: String,
    /// Why, for reports: without the file's name, and without header cells and names of sheets, which
    /// may be those of people.
    pub reason: String,
    /// Whether records of an earlier state of this file are in the store, and stay in force.
    pub earlier: bool,
}

/// What to say of the exports that were refused, by source and file; `manifest` is that before them.
pub(in crate::store) fn unread(refused: &[Refused], manifest: &Manifest) -> Vec<Unread> {
    let mut unread: Vec<Unread> = refused
        .iter()
        .map(|Refused { source, file, error }| Unread {
            source: source.clone(),
            file: file.clone(),
            message: error.to_string(),
            reason: reason(error, file),
            // Of two files with one name it is the other that the store has.
            earlier: !matches!(error, StoreError::SameName { .. })
                && manifest.exports.iter().any(|old| old.source == *source && old.file == *file),
        })
        .collect();
    unread.sort_by(|a, b| (&a.source, &a.file).cmp(&(&b.source, &b.file)));
    unread
}

fn reason(error: &StoreError, file: &str) -> String {
    match error {
        StoreError::Unreadable { source, .. } => format!("cannot be read: {source}"),
        StoreError::NotAFile { kind, .. } => format!("found {kind}, expected a file"),
        StoreError::Export(error) => of_intake(error, file),
        error => without(&error.to_string(), file),
    }
}

/// What a header holds may be the first row of a file without one, and a sheet may have a person's name.
fn of_intake(error: &IntakeError, file: &str) -> String {
    match error {
        IntakeError::MissingColumn { line, column, .. } => {
            format!("line {line}: column {column:?} of the map is not in the header")
        }
        IntakeError::BadHeader { line, .. } => format!("line {line}: the header cannot be read"),
        IntakeError::Table { cause: TableError::NoSheet { wanted, .. }, .. } => {
            format!("found no sheet {wanted:?}")
        }
        IntakeError::NoHeader { line, .. } => format!("line {line}: found no header line"),
        error => without(&error.to_string(), file),
    }
}

fn without(message: &str, file: &str) -> String {
    let rest = message.strip_prefix(file).unwrap_or(message);
    rest.trim_start_matches([':', ' ']).to_owned()
}
