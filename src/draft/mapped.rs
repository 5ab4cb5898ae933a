//! Canonical columns with what fills them, and the parts that they make.

use super::durations::Durations;
use super::page::{Question, Standing};
use super::plan::Plan;
use super::times::Times;
use super::values::Value;
use crate::records::Column;
use crate::tabular::profile::ColumnProfile;

/// A canonical column with what fills it.
#[derive(Clone, Debug)]
pub struct Mapped<'p> {
    pub column: &'static Column,
    pub profile: &'p ColumnProfile,
    /// Export columns, joined.
    pub names: Vec<String>,
    pub standing: Standing,
    pub times: Option<Times>,
    pub durations: Option<Durations>,
    pub values: Vec<Value>,
    /// A question about the values as a whole.
    pub asked: Option<Question>,
    /// How its export columns are written into one text, if not joined by blanks.
    pub form: Option<String>,
}

/// A part as drafted.
#[derive(Clone, Debug)]
pub struct Part<'p> {
    pub plan: Plan<'p>,
    pub mapped: Vec<Mapped<'p>>,
    /// Required columns that nothing fills, with what is asked.
    pub missing: Vec<Missing>,
}

impl<'p> Part<'p> {
    /// What fills that canonical column.
    pub fn filling(&self, name: &str) -> Option<&Mapped<'p>> {
        self.mapped.iter().find(|one| one.column.name == name)
    }
}

/// A column that nothing fills, though records need it or are of less use without it.
#[derive(Clone, Debug)]
pub struct Missing {
    pub name: &'static str,
    pub question: Question,
    /// What every row may be taken to have there, where that is some word of a list.
    pub likely: Option<String>,
}

/// Whether a part reads the column of that name.
pub(in crate::draft) fn is_read(name: &str, parts: &[Part]) -> bool {
    parts.iter().any(|part| {
        let mapped = part.mapped.iter().flat_map(|one| &one.names);
        let when = part.plan.when.iter().map(|when| &when.column);
        let zones =
            part.plan.zones.iter().flat_map(|zones| &zones.columns).map(|(_, column)| column);
        mapped.chain(when).chain(zones).any(|known| known == name)
    })
}
