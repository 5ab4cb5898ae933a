//! One record part while it is checked.

use super::lists::Lists;
use crate::records::Table;
use crate::settings::dialect::Dialect;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::written;

/// One record part while it is checked.
pub struct Part<'a, 'p, 't> {
    /// The source it belongs to.
    pub source: &'a written::Source,
    /// How that source writes numbers.
    pub dialect: &'a Dialect,
    /// Closed lists.
    pub lists: &'a Lists<'p>,
    /// The part as typed.
    pub typed: &'a written::Record,
    /// What it yields.
    pub table: Table,
    /// Where it stands.
    pub place: &'a Place,
    /// Where to note what is wrong.
    pub problems: &'a mut Problems<'t>,
}
