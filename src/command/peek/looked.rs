//! What was found of a file.

use super::facts::PeekFacts;
use super::sample::Kind;
use crate::settings::Dialect;
use crate::tabular::detect::Detected;
use crate::tabular::profile::ColumnProfile;

/// What was found of a file.
#[derive(Clone, Debug)]
pub struct Looked {
    pub kind: Kind,
    /// How it is written; for files that carry their own cells only what they leave open.
    pub dialect: Dialect,
    /// Of text, and of sheets as text: where its tables stand.
    pub detected: Detected,
    pub columns: Vec<ColumnProfile>,
    pub facts: PeekFacts,
}
