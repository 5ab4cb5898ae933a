//! `people` of a source: export columns that hold names, and what becomes of each.

use std::collections::BTreeMap;

use super::lists::Lists;
use crate::records::{Column, Kind, MEMBER_COLUMNS, Table, columns};
use crate::settings::place::Place;
use crate::settings::plan::People;
use crate::settings::problems::Problems;
use crate::settings::words;
use crate::settings::written::{OneOrMany, Source};

/// Columns beside [`MEMBER_COLUMNS`] by which records are told apart or joined.
const JOINING: [&str; 2] = ["record", "mating"];

/// Export column -> what becomes of its cells.
pub fn people(
    source: &Source,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> BTreeMap<String, People> {
    let here = place.key("people");
    let mut people = BTreeMap::new();
    for (column, word) in source.people.iter().flatten() {
        let at = here.key(column);
        words::word(column, &at, problems);
        let choices = [("pseudonym", People::Pseudonym), ("drop", People::Drop)];
        let Some(chosen) = words::choice(word, &choices, &at, problems) else { continue };
        for read in readers(source, column) {
            if let Some(wrong) = misfit(chosen, read, lists) {
                problems.add(&at, wrong);
            }
        }
        people.insert(column.clone(), chosen);
    }
    people
}

/// The canonical columns that the source's map fills from an export column.
fn readers<'s>(
    source: &'s Source,
    export: &'s str,
) -> impl Iterator<Item = &'static Column> + use<'s> {
    source.record.iter().flatten().flat_map(move |record| {
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
        Kind::Time | Kind::Integer | Kind::Money | Kind::Flag => false,
    };
    (column.required || !is_free).then(|| {
        format!(
            "found a column of people that the map reads as `{name}`, which takes no pseudonym; \
             take it out of the map, or out of `people`"
        )
    })
}
