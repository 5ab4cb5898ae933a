//! The lists of a fleet that names none of its own.

use super::plan::{Codes, Stages};

/// Lifecycle stages, earliest first (design, section 2).
const STAGES: &[&str] =
    &["manufacture", "assembly", "system-test", "receiving", "installation", "maintenance"];
/// Stages without light among them.
const DARK: &[&str] = &["manufacture", "assembly"];
/// Interfaces as the parts of IEC 61754 name them [from memory].
const FAMILIES: &[&str] = &["LC", "SC", "FC", "BFOC", "MU", "LSH", "MPO"];
const POLISHES: &[&str] = &["PC", "UPC", "APC"];
const MODES: &[&str] = &["single-mode", "multimode"];
const METHODS: &[&str] = &["dry", "wet-dry", "wet", "non-contact"];
const CAUSES: &[&str] = &[
    "contamination",
    "end-face-defect",
    "break",
    "bend",
    "equipment",
    "no-fault-found",
    "unknown",
];
const REMEDIES: &[&str] = &["cleaned", "reseated", "replaced", "repolished", "none"];

fn owned(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

impl Default for Stages {
    fn default() -> Self {
        Self { order: owned(STAGES), dark: owned(DARK) }
    }
}

impl Default for Codes {
    fn default() -> Self {
        Self {
            family: owned(FAMILIES),
            polish: owned(POLISHES),
            mode: owned(MODES),
            method: owned(METHODS),
            cause: owned(CAUSES),
            remedy: owned(REMEDIES),
            criteria: Vec::new(),
        }
    }
}
