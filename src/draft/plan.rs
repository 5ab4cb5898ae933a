//! What one part of a draft is made from.

use super::choice::Candidate;
use super::cleaned::Cleaned;
use super::page::Question;
use super::zones::Zones;
use crate::records::Table;
use crate::settings::When;

/// What one part is drafted from.
#[derive(Clone, Debug)]
pub struct Plan<'p> {
    pub table: Table,
    pub when: Option<When>,
    /// Open questions about `when`.
    pub asked: Vec<Question>,
    /// Why there is this part, if the file is more than one table.
    pub why: Option<String>,
    pub candidates: Vec<Candidate<'p>>,
    /// The column that says how the end face was cleaned before, for a part of cleanings.
    pub cleaned: Option<Cleaned<'p>>,
    /// Columns of zones, each with its own result, which no other column repeats.
    pub zones: Option<Zones>,
    /// What the records' numbers end with where several records stand on one row.
    pub record_ends: Option<&'static str>,
    /// Place of the part's records among those of its row.
    pub seq: Option<&'static str>,
}

impl<'p> Plan<'p> {
    /// All rows of a table, from these columns.
    pub fn of(table: Table, candidates: Vec<Candidate<'p>>) -> Self {
        Self {
            table,
            when: None,
            asked: Vec::new(),
            why: None,
            candidates,
            cleaned: None,
            zones: None,
            record_ends: None,
            seq: None,
        }
    }
}
