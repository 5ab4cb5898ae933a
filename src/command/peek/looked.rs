//! What was found of a file.

use super::facts::PeekFacts;
use super::sample::Kind;
use crate::draft::SampleRows;
use crate::settings::Dialect;
use crate::tabular::detect::Detected;
use crate::tabular::profile::ColumnProfile;

/// What was found of a file.
#[derive(Clone, Debug)]
pub struct Looked {
    /// What the file is.
    pub kind: Kind,
    /// How it is written; for files that carry their own cells only what they leave open.
    pub dialect: Dialect,
    /// Of text, and of sheets as text: where its tables stand.
    pub detected: Detected,
    /// What its columns hold.
    pub columns: Vec<ColumnProfile>,
    /// Some of its rows.
    pub rows: SampleRows,
    /// Why its encoding is a guess, if it is one.
    pub guessed_encoding: Option<String>,
    /// Everything else, as it is printed.
    pub facts: PeekFacts,
}
