//! What can go wrong while inventing a fleet.

use std::path::PathBuf;

/// Errors of `synth`.
#[derive(Debug, thiserror::Error)]
pub enum SynthError {
    /// A recipe that no fleet can be made of.
    #[error("{field}: found {found}, expected {expected}")]
    Recipe {
        /// Which part of the recipe.
        field: &'static str,
        /// What was found.
        found: String,
        /// What was expected.
        expected: &'static str,
    },
    /// A value that a departure cannot have.
    #[error("--plant {key}: found {found:?}, expected {expected}")]
    Plant {
        /// Its key.
        key: &'static str,
        /// What was found.
        found: String,
        /// What was expected.
        expected: String,
    },
    /// A departure that there is not.
    #[error("--plant: found {found:?}, which is no key")]
    UnknownPlant {
        /// The key that was asked for.
        found: String,
    },
    /// A file or folder that could not be written.
    #[error("{path}: cannot be written: {source}")]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
}

/// Names the path of a failed write.
pub fn at(path: &std::path::Path) -> impl Fn(std::io::Error) -> SynthError + '_ {
    move |source| SynthError::Write { path: path.to_path_buf(), source }
}
