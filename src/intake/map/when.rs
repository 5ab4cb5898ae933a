//! Conditions under which a row becomes a record.

use super::input::is_null;
use crate::intake::people::names::{MASK, Watch};
use crate::intake::reject::reason::shown;
use crate::settings::{Test, When};
use crate::tabular::Cells;

/// A condition with the place of its column.
#[derive(Debug)]
pub struct Condition<'a> {
    pub cell: usize,
    pub when: &'a When,
    /// Its cells hold people's names.
    pub masked: bool,
}

impl Condition<'_> {
    /// Whether the row satisfies it.
    pub fn holds(&self, cells: &Cells, nulls: &[String]) -> bool {
        let text = cells.get(self.cell);
        match &self.when.is {
            Test::OneOf(words) => words.iter().any(|word| word == text),
            Test::NoneOf(words) => !words.iter().any(|word| word == text),
            Test::Given => !is_null(text, nulls),
        }
    }

    /// What the row has there and what it wants.
    pub fn refusal(&self, cells: &Cells, watch: &mut Watch) -> String {
        let text = cells.get(self.cell);
        let found = if self.masked || watch.hides(text) { MASK.to_owned() } else { shown(text) };
        let wanted = match &self.when.is {
            Test::OneOf(words) => format!("one of {}", words.join(", ")),
            Test::NoneOf(words) => format!("none of {}", words.join(", ")),
            Test::Given => "a value".to_owned(),
        };
        format!("found {found} in column {:?}, expected {wanted}", self.when.column)
    }
}

/// Why no part of a map takes a row.
pub fn no_part<'c>(
    conditions: impl Iterator<Item = &'c Condition<'c>>,
    cells: &Cells,
    watch: &mut Watch,
) -> String {
    let mut refusals: Vec<String> =
        conditions.map(|condition| condition.refusal(cells, watch)).collect();
    refusals.dedup();
    format!(
        "no part of the map takes this row: {}; add a part or widen a when",
        refusals.join("; ")
    )
}
