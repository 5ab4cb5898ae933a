//! What sources and proposals are checked against.

use super::codes::{Codes, allowed};
use super::stages::Stages;

/// What the parts of a map, and effects of proposals, are checked against.
pub(in crate::settings) struct Lists<'p> {
    /// Sites of the fleet; none: any.
    pub sites: &'p [String],
    /// Its stages.
    pub stages: &'p Stages,
    /// Its code lists.
    pub codes: &'p Codes,
}

impl<'p> Lists<'p> {
    /// The words that a canonical column may hold, none where any word is taken.
    pub fn allowed(&self, column: &str) -> Option<Vec<&'p str>> {
        allowed(column, self.sites, self.stages, self.codes)
    }
}
