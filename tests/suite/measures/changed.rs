//! The demo's measures on other counts than its own.

use std::path::Path;

use motetrail::derive::{CountTable, Counts, Derived};
use motetrail::measures::{Review, review};
use motetrail::settings;

use crate::review::demo::demo;

/// The demo measured on these counts in place of its own.
pub fn reviewed(counts: Counts) -> Review {
    let settings_file = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo/fleet.toml");
    let plan = settings::read(&settings_file).unwrap();
    let own = &demo().derived;
    let derived = Derived {
        counts,
        glossary: own.glossary.clone(),
        calendar: own.calendar.clone(),
        period: own.period.clone(),
        guessed_cover: own.guessed_cover.clone(),
        empty_fault_sources: own.empty_fault_sources.clone(),
        precision: own.precision,
        ambiguous: own.ambiguous,
        by_site_day: own.by_site_day,
        face_names: own.face_names.clone(),
    };
    review(&plan, &derived, &[]).unwrap()
}

/// A table with every cell and its counts changed.
pub fn changed<const D: usize, const M: usize>(
    table: &CountTable<D, M>,
    change: impl Fn([u32; D], [i64; M]) -> ([u32; D], [i64; M]),
) -> CountTable<D, M> {
    let mut other = CountTable::empty(table.name, table.dimensions, table.measures);
    for (cell, counts) in table.cells() {
        let (cell, counts) = change(cell, counts);
        other.add(Some(cell), counts);
    }
    other
}
