//! `[[source.record]]`: what a row becomes.

use super::columns::Filled;
use super::lists::Lists;
use super::part::Part;
use super::{columns, dates, values, when};
use crate::records::Table;
use crate::settings::dialect::Dialect;
use crate::settings::nearest::unknown;
use crate::settings::place::Place;
use crate::settings::plan::RecordMap;
use crate::settings::problems::Problems;
use crate::settings::written;

/// The record parts of the source at `place`.
pub fn records(
    source: &written::Source,
    dialect: &Dialect,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Vec<RecordMap> {
    let place = place.key("record");
    let parts = source.record.as_deref().unwrap_or_default();
    if parts.is_empty() {
        problems.add(&place, "missing; expected at least one [[source.record]]");
    }
    let mut records = Vec::new();
    for (index, typed) in parts.iter().enumerate() {
        let here = place.index(index);
        let Some(table) = table(typed.table.as_deref(), &here.key("table"), problems) else {
            continue;
        };
        let mut part = Part { source, dialect, lists, typed, table, place: &here, problems };
        records.push(part.map());
    }
    records
}

fn table(name: Option<&str>, place: &Place, problems: &mut Problems) -> Option<Table> {
    let known = Table::ALL.map(Table::name);
    let Some(name) = name else {
        problems.add(place, format!("missing; expected one of {}", known.join(", ")));
        return None;
    };
    let table = Table::named(name);
    if table.is_none() {
        let what = format!("found {name:?}, which is no table");
        problems.add(place, unknown(&what, name, &known));
    }
    table
}

impl Part<'_, '_, '_> {
    fn map(&mut self) -> RecordMap {
        let when = self.typed.when.as_ref();
        let when = when.and_then(|when| when::when(when, &self.place.key("when"), self.problems));
        let columns = columns::columns(self);
        let constants = columns::constants(self);
        let filled = Filled::of(self);
        filled.check(self);
        RecordMap {
            line: self.problems.line_of(self.place),
            table: self.table,
            when,
            dates: dates::dates(self, &filled),
            values: values::values(self, &filled),
            columns,
            constants,
        }
    }
}
