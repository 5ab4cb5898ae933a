//! `[[source.record]]`: its keys.

use std::collections::BTreeMap;
use std::marker::PhantomData;

use super::number_keys::{Numbers, TypedNumber};
use super::piece::Piece;
use super::text::OneOrMany;
use super::when::{Condition, When};
use super::words_of_cells::{DurationForm, Unreadable};
use crate::records::{Column, Table};
use crate::settings::nearest::unknown;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::ranges::Later;
use crate::settings::section::{Range, section};

section! {
    TypedRecord:
    /// One kind of record that a row can become.
    RecordMap {
        /// What its rows become.
        table: Table = Table::Inspections, TableName, required TableName.text();
        /// Only rows that satisfy this become such a record; left out: all.
        when: Option<When> = None, Condition;
        /// Canonical column -> export columns (several are joined by one space, empty ones left out).
        columns: BTreeMap<String, Vec<String>> = BTreeMap::new(),
            Later<BTreeMap<String, OneOrMany>, BTreeMap<String, Vec<String>>>("export columns by canonical column", PhantomData);
        /// Canonical column -> how the cells of its export columns are written into one text, `{Column}` for a cell; left
        /// out: joined by a blank.
        forms: BTreeMap<String, Vec<Piece>> = BTreeMap::new(),
            Later<BTreeMap<String, String>, BTreeMap<String, Vec<Piece>>>("texts with export columns in braces by canonical column", PhantomData);
        /// Zone of the end face -> export column with its own result: a look failed if one of them did, `zone` is the
        /// innermost that failed. The words of their cells are those of `values.outcome`.
        zones: Vec<(String, String)> = Vec::new(),
            Later<BTreeMap<String, String>, Vec<(String, String)>>("export columns by zone", PhantomData);
        /// Canonical time column -> patterns, tried in order. A pattern without an hour gives a day.
        dates: BTreeMap<String, Vec<String>> = BTreeMap::new(),
            Later<BTreeMap<String, OneOrMany>, BTreeMap<String, Vec<String>>>("patterns by canonical column", PhantomData);
        /// Canonical column -> how its numbers are written and what they mean, where that is not as the source says.
        numbers: BTreeMap<String, Numbers> = BTreeMap::new(),
            Later<BTreeMap<String, TypedNumber>, BTreeMap<String, Numbers>>("keys of numbers by canonical column", PhantomData);
        /// Canonical column -> (export word -> code). An empty code means "not given".
        values: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new(),
            Later<BTreeMap<String, BTreeMap<String, String>>, BTreeMap<String, BTreeMap<String, String>>>(
                "codes by export word by canonical column", PhantomData);
        /// Canonical column -> the same text for every row.
        constants: BTreeMap<String, String> = BTreeMap::new(),
            Later<BTreeMap<String, String>, BTreeMap<String, String>>("texts by canonical column", PhantomData);
        /// Canonical column of minutes -> how lengths of time are written there, tried in order; a column that is not
        /// named holds whole minutes.
        durations: BTreeMap<String, Vec<DurationForm>> = BTreeMap::new(),
            Later<BTreeMap<String, OneOrMany>, BTreeMap<String, Vec<DurationForm>>>("forms by canonical column", PhantomData);
        /// R9 for single columns, where it is not what the source says.
        unreadable: BTreeMap<String, Unreadable> = BTreeMap::new(),
            Later<BTreeMap<String, String>, BTreeMap<String, Unreadable>>("null or quarantine by canonical column", PhantomData);
    } + {
        /// Line of the settings where it begins.
        line: usize = 0;
    }
}

impl RecordMap {
    /// What becomes of an unreadable cell of a column; `of_source` is what the source says.
    pub fn unreadable(&self, column: &Column, of_source: Unreadable) -> Unreadable {
        if column.required {
            return Unreadable::Quarantine;
        }
        self.unreadable.get(column.name).copied().unwrap_or(of_source)
    }

    /// The keys that no other part of the source decides; none where it is not known what the rows become.
    pub(in crate::settings) fn begun(
        typed: &TypedRecord,
        place: &Place,
        problems: &mut Problems,
    ) -> Option<Self> {
        let record = Self::read(typed, place, problems);
        let table = Table::named(typed.table.as_deref()?)?;
        Some(Self { table, line: problems.line_of(place), ..record })
    }
}

/// The name of a canonical table.
pub struct TableName;

impl Range for TableName {
    type Typed = String;
    type Value = Table;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> Table {
        Table::named(typed).unwrap_or_else(|| {
            let what = format!("found {typed:?}, which is no table");
            problems.add(place, unknown(&what, typed, &Table::ALL.map(Table::name)));
            Table::Inspections
        })
    }

    fn text(&self) -> String {
        format!("one of {}", Table::ALL.map(Table::name).join(", "))
    }

    fn written(&self, value: &Table) -> String {
        format!("{:?}", value.name())
    }
}
