//! The published shape of `findings.json`, for programs that read it.

/// JSON Schema (2020-12) of `findings.json`. A test holds every report of the suite against it.
pub const FINDINGS_SCHEMA: &str = include_str!("findings.schema.json");
