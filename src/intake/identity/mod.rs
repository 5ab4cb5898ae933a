//! The fingerprints by which repeated and superseded records are found.

pub mod anew;
pub mod fingerprint;
