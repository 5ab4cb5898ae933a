//! `zones` of a record: a column a zone, each with its own result.

use std::collections::BTreeMap;

use super::part::Part;
use crate::records::Table;
use crate::settings::words;

/// Canonical columns that zones make, where `columns` does not map them.
pub const MADE: [&str; 2] = ["outcome", "zone"];

/// Zones with their export columns, the innermost first.
pub fn zones(part: &mut Part) -> Vec<(String, String)> {
    let place = part.place.key("zones");
    let Some(typed) = part.typed.zones.as_ref() else { return Vec::new() };
    if part.table != Table::Inspections {
        let found = format!("found zones, but only inspections have them; {}", part.table.name());
        part.problems.add(&place, found);
        return Vec::new();
    }
    let allowed = part.lists.allowed("zone").unwrap_or_default();
    for (zone, column) in typed {
        let here = place.key(zone);
        words::one_of(zone, &allowed, &here, part.problems);
        words::word(column, &here, part.problems);
    }
    let column = |zone: &&str| typed.get(*zone).map(|column| ((*zone).to_owned(), column.clone()));
    let zones: Vec<(String, String)> = allowed.iter().filter_map(column).collect();
    if typed.is_empty() {
        part.problems.add(&place, "is empty; expected an export column a zone");
    }
    zones
}

/// `columns` with what the zones make.
pub fn with_made(
    mut columns: BTreeMap<String, Vec<String>>,
    zones: &[(String, String)],
) -> BTreeMap<String, Vec<String>> {
    if !zones.is_empty() {
        let read: Vec<String> = zones.iter().map(|(_, column)| column.clone()).collect();
        for made in MADE {
            columns.entry(made.to_owned()).or_insert_with(|| read.clone());
        }
    }
    columns
}
