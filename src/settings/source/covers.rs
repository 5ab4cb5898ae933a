//! `covers` of a source: days for which its tables are complete.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::records::Table;
use crate::settings::nearest::unknown;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::ranges::{DayIfAny, Flag};
use crate::settings::section::{Range, section};
use crate::settings::words;

section! {
    TypedCover:
    /// Days of a table as typed.
    CoverKeys {
        /// First day, in the fleet's zone.
        from: Option<NaiveDate> = None, DayIfAny, required words::A_DAY;
        /// Last day, part of it.
        to: Option<NaiveDate> = None, DayIfAny, required words::A_DAY;
        /// Whether every export holds all records of these days: what a later one leaves out was deleted.
        complete: bool = false, Flag;
    }
}

/// Days from and to, both included, in the fleet's zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cover {
    /// First day.
    pub from: NaiveDate,
    /// Last day, part of it.
    pub to: NaiveDate,
    /// Every export holds all records of these days: what a later one leaves out was deleted.
    pub complete: bool,
}

/// Days by table.
pub struct Covers;

impl Range for Covers {
    type Typed = BTreeMap<String, TypedCover>;
    type Value = BTreeMap<Table, Cover>;

    fn read(
        &self,
        typed: &BTreeMap<String, TypedCover>,
        place: &Place,
        problems: &mut Problems,
    ) -> BTreeMap<Table, Cover> {
        let mut covers = BTreeMap::new();
        for (name, typed) in typed {
            let here = place.key(name);
            let Some(table) = Table::named(name) else {
                let known = Table::ALL.map(Table::name);
                problems.add(&here, unknown("there is no such table", name, &known));
                continue;
            };
            if let Some(cover) = cover(typed, &here, problems) {
                covers.insert(table, cover);
            }
        }
        covers
    }

    fn text(&self) -> String {
        "tables with their days, such as `covers.faults = { from = 2026-01-01, to = 2026-06-30 }`"
            .to_owned()
    }

    fn written(&self, _: &BTreeMap<Table, Cover>) -> String {
        String::new()
    }
}

fn cover(typed: &TypedCover, place: &Place, problems: &mut Problems) -> Option<Cover> {
    let CoverKeys { from, to, complete } = CoverKeys::read(typed, place, problems);
    let (from, to) = (from?, to?);
    if from > to {
        problems.add(place, format!("found from {from} to {to}; expected from not after to"));
    }
    Some(Cover { from, to, complete })
}
