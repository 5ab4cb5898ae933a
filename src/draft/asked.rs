//! What a draft is asked for.

use crate::records::{Column, Kind, Table};
use crate::settings::{Codes, Stages, allowed};

/// A request for a draft.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The export, as its source's glob will name it.
    pub file: String,
    /// Name of the source to draft.
    pub source_name: String,
    /// What its rows are; none: to be guessed.
    pub table: Option<Table>,
    /// The one site of its rows, if it is known.
    pub site: Option<String>,
    /// Sites of the fleet; empty: any name is taken.
    pub sites: Vec<String>,
    /// Stages of the fleet.
    pub stages: Stages,
    /// Code lists of the fleet.
    pub codes: Codes,
}

impl Asked {
    /// The words that a canonical column may hold, none where any word is taken.
    pub fn allowed(&self, column: &str) -> Option<Vec<&str>> {
        allowed(column, &self.sites, &self.stages, &self.codes)
    }

    /// The words that the cells of a canonical column have to be mapped to, if any.
    pub fn codes_of(&self, column: &Column) -> Option<Vec<&str>> {
        match column.kind {
            Kind::Flag => Some(vec!["yes", "no"]),
            Kind::Code => self.allowed(column.name),
            _ => None,
        }
    }
}
