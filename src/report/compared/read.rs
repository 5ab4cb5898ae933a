//! `findings.json` of an earlier run, read back.

use std::path::{Path, PathBuf};

use serde::Deserialize;

use crate::report::files::findings::SCHEMA_VERSION;

/// Why two reports cannot be compared.
#[derive(Debug, thiserror::Error)]
pub enum CompareError {
    /// A file cannot be read.
    #[error("{path}: cannot be read: {source}", path = path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A file is no `findings.json` of this version.
    #[error(
        "{path}: is no findings.json that this version can read ({reason}); review that period again",
        path = path.display()
    )]
    Shape {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// The two are of different fleets.
    #[error("{old} and {new} are different fleets; only reviews of one fleet can be compared")]
    Fleets {
        /// The fleet of the first.
        old: String,
        /// The fleet of the second.
        new: String,
    },
}

/// What is compared of a review.
#[derive(Debug, Deserialize)]
pub(super) struct Findings {
    pub fleet: String,
    pub currency: String,
    pub level: f64,
    pub period: Span,
    pub headlines: Vec<Headline>,
    pub places: Vec<Place>,
    pub doubts: Vec<Doubt>,
    pub unanswered: Vec<Unanswered>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Span {
    pub quarter: String,
}

#[derive(Debug, Deserialize)]
pub(super) struct Headline {
    pub name: String,
    pub value: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: String,
    pub changes: Vec<Change>,
}

/// A change that the review itself worked out.
#[derive(Debug, Deserialize)]
pub(super) struct Change {
    pub quarter: String,
    pub change: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: String,
    pub q: Option<f64>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Place {
    pub by: String,
    pub place: String,
    pub rank: Option<i64>,
    pub net_saving: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Doubt {
    pub sentence: String,
}

#[derive(Debug, Deserialize)]
pub(super) struct Unanswered {
    pub measure: String,
}

/// The version alone, which is read before the rest.
#[derive(Deserialize)]
struct Version {
    schema_version: u32,
}

/// Reads the findings of a report: its folder, or the file itself.
pub(super) fn read(path: &Path) -> Result<Findings, CompareError> {
    let path = if path.is_dir() { path.join("findings.json") } else { path.to_owned() };
    let bytes =
        std::fs::read(&path).map_err(|source| CompareError::Read { path: path.clone(), source })?;
    let shape = |reason: String| CompareError::Shape { path: path.clone(), reason };
    let version: Version =
        serde_json::from_slice(&bytes).map_err(|error| shape(error.to_string()))?;
    if version.schema_version != SCHEMA_VERSION {
        let found = version.schema_version;
        return Err(shape(format!("schema_version is {found}, expected {SCHEMA_VERSION}")));
    }
    serde_json::from_slice(&bytes).map_err(|error| shape(error.to_string()))
}
