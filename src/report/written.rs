//! What a report came to.

use std::path::PathBuf;

/// What was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The folder of the report.
    pub folder: PathBuf,
    /// Its files, relative to it, in order.
    pub files: Vec<PathBuf>,
    /// One finding a question, in order.
    pub findings: Vec<String>,
    /// The sentences of the front page, at most six; none of a purchase case.
    pub short: Vec<String>,
}
