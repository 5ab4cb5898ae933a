//! What can go wrong while inventing a fleet.

use std::path::PathBuf;

/// Errors of `synth`.
#[derive(Debug, thiserror::Error)]
pub enum SynthError {
    /// A recipe that no fleet can be made of.
    #[error("{field}: found {found}, expected {expected}")]
    Recipe { field: &'static str, found: String, expected: &'static str },
    /// A file or folder that could not be written.
    #[error("{path}: cannot be written: {source}")]
    Write { path: PathBuf, source: std::io::Error },
}

/// Names the path of a failed write.
pub fn at(path: &std::path::Path) -> impl Fn(std::io::Error) -> SynthError + '_ {
    move |source| SynthError::Write { path: path.to_path_buf(), source }
}
