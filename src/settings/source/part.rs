//! One record part while it is checked against its table, its source and the lists.

use super::declared::{Dialect, TypedSource};
use super::record::TypedRecord;
use crate::records::Table;
use crate::settings::lists::Lists;
use crate::settings::place::Place;
use crate::settings::problems::Problems;

/// One record part while it is checked.
pub struct Part<'a, 'p, 't> {
    /// The source it belongs to.
    pub source: &'a TypedSource,
    /// How that source writes numbers.
    pub dialect: &'a Dialect,
    /// Closed lists.
    pub lists: &'a Lists<'p>,
    /// The part as typed.
    pub typed: &'a TypedRecord,
    /// What it yields.
    pub table: Table,
    /// Where it stands.
    pub place: &'a Place,
    /// Where to note what is wrong.
    pub problems: &'a mut Problems<'t>,
}
