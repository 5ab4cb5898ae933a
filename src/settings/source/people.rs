//! `people` of a source: export columns that hold names, and what becomes of each.

use std::collections::BTreeMap;

use super::record::TypedRecord;
use super::text::OneOrMany;
use crate::records::{Column, Kind, MEMBER_COLUMNS, Table, columns};
use crate::settings::lists::Lists;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::ranges::OneOf;
use crate::settings::section::Range;
use crate::settings::words;

/// Columns other than [`MEMBER_COLUMNS`] by which records are told apart or joined.
const JOINING: [&str; 2] = ["record", "mating"];

/// What becomes of a column of people's names. Either way its cells are masked wherever a row's text is
/// shown, and the same text is kept in no other cell of the export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum People {
    /// A keyed pseudonym stands for the name wherever the map reads the column.
    Pseudonym,
    /// Nothing of it is kept; the map does not read it.
    Drop,
}

/// Their words.
const PEOPLE: &[(&str, People)] = &[("pseudonym", People::Pseudonym), ("drop", People::Drop)];

/// Export column -> what becomes of its cells.
pub struct PeopleColumns;

impl Range for PeopleColumns {
    type Typed = BTreeMap<String, String>;
    type Value = BTreeMap<String, People>;

    fn read(
        &self,
        typed: &BTreeMap<String, String>,
        place: &Place,
        problems: &mut Problems,
    ) -> BTreeMap<String, People> {
        let mut people = BTreeMap::new();
        for (column, word) in typed {
            let here = place.key(column);
            words::word(column, &here, problems);
            if let Some(chosen) = words::choice(word, PEOPLE, &here, problems) {
                people.insert(column.clone(), chosen);
            }
        }
        people
    }

    fn text(&self) -> String {
        format!("export columns, each with {}", OneOf(PEOPLE).text())
    }

    fn written(&self, _: &BTreeMap<String, People>) -> String {
        String::new()
    }
}

/// Notes columns of people that the map reads as what can be no pseudonym.
pub fn check_readers(
    people: &BTreeMap<String, People>,
    records: &[TypedRecord],
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) {
    for (column, chosen) in people {
        for read in readers(records, column) {
            if let Some(wrong) = misfit(*chosen, read, lists) {
                problems.add(&place.key(column), wrong);
            }
        }
    }
}

/// The canonical columns that the record parts fill from an export column.
fn readers<'s>(
    records: &'s [TypedRecord],
    export: &'s str,
) -> impl Iterator<Item = &'static Column> + use<'s> {
    records.iter().flat_map(move |record| {
        let table = record.table.as_deref().and_then(Table::named);
        let reads = move |name: &str| {
            let typed = record.columns.as_ref().and_then(|columns| columns.get(name));
            typed.is_some_and(|typed| match typed {
                OneOrMany::One(text) => text == export,
                OneOrMany::Many(texts) => texts.iter().any(|text| text == export),
            })
        };
        table.map_or(&[][..], columns).iter().filter(move |column| reads(column.name))
    })
}

/// Why a column of people cannot be read as this canonical one.
fn misfit(chosen: People, column: &Column, lists: &Lists) -> Option<String> {
    let name = column.name;
    if chosen == People::Drop {
        let what = format!("found \"drop\", but the map reads the column as `{name}`");
        return Some(format!("{what}; take it out of the map, or write \"pseudonym\""));
    }
    let is_key = MEMBER_COLUMNS.contains(&name) || JOINING.contains(&name);
    let is_free = match column.kind {
        Kind::Person => true,
        Kind::Text => !is_key,
        Kind::Code => !is_key && lists.allowed(name).is_none(),
        Kind::Time | Kind::Integer | Kind::Minutes | Kind::Money | Kind::Flag => false,
    };
    (column.required || !is_free).then(|| {
        format!(
            "found a column of people that the map reads as `{name}`, which takes no pseudonym; \
             take it out of the map, or out of `people`"
        )
    })
}
