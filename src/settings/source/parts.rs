//! The record parts of a source: what its rows become.

use super::columns::Filled;
use super::declared::{Dialect, TypedSource};
use super::part::Part;
use super::record::RecordMap;
use super::{columns, dates, durations, forms, numbers, unreadable, values, zones};
use crate::settings::lists::Lists;
use crate::settings::place::Place;
use crate::settings::problems::Problems;

/// The record parts of the source at `place`.
pub fn records(
    source: &TypedSource,
    dialect: &Dialect,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Vec<RecordMap> {
    let place = place.key("record");
    let parts = source.records.as_deref().unwrap_or_default();
    if parts.is_empty() {
        problems.add(&place, "missing; expected at least one [[source.record]]");
    }
    let mut records = Vec::new();
    for (index, typed) in parts.iter().enumerate() {
        let here = place.index(index);
        let Some(begun) = RecordMap::begun(typed, &here, problems) else {
            continue;
        };
        let table = begun.table;
        let mut part = Part { source, dialect, lists, typed, table, place: &here, problems };
        records.push(part.completed(begun));
    }
    records
}

impl Part<'_, '_, '_> {
    fn completed(&mut self, begun: RecordMap) -> RecordMap {
        let zones = zones::zones(self);
        let columns = zones::with_made(columns::columns(self), &zones);
        let constants = columns::constants(self);
        let filled = Filled::of(self);
        filled.check(self);
        RecordMap {
            dates: dates::dates(self, &filled),
            numbers: numbers::numbers(self, &filled),
            values: values::values(self, &filled),
            durations: durations::durations(self, &filled),
            forms: forms::forms(self, &filled),
            zones,
            unreadable: unreadable::unreadable(self, &filled),
            columns,
            constants,
            ..begun
        }
    }
}
