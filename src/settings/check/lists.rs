//! What the parts of a map are checked against.

use crate::settings::plan::{Codes, Stages};

/// What the parts of a map are checked against.
pub(in crate::settings) struct Lists<'p> {
    pub sites: &'p [String],
    pub stages: &'p Stages,
    pub codes: &'p Codes,
}

impl<'p> Lists<'p> {
    /// The words that a canonical column may hold, none where any word is taken.
    pub fn allowed(&self, column: &str) -> Option<Vec<&'p str>> {
        crate::settings::allowed::allowed(column, self.sites, self.stages, self.codes)
    }
}
