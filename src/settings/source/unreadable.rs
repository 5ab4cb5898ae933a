//! `unreadable` of a source and of a record: what becomes of cells that cannot be read (R9).

use std::collections::BTreeMap;

use super::columns::{Filled, known};
use super::part::Part;
use super::words_of_cells::{UNREADABLE, Unreadable};
use crate::settings::words;

/// Canonical column -> what becomes of its cells.
pub fn unreadable(part: &mut Part, filled: &Filled) -> BTreeMap<String, Unreadable> {
    let place = part.place.key("unreadable");
    let mut found = BTreeMap::new();
    for (name, word) in part.typed.unreadable.iter().flatten() {
        let here = place.key(name);
        let Some(column) = known(part, name, &here) else {
            continue;
        };
        if column.required {
            let why = "no record is whole without it, and a row in which it is unreadable is always quarantined";
            part.problems.add(&here, format!("found {word:?}: {why}; remove it"));
        } else if !filled.maps(name, part.problems) {
            part.problems
                .add(&here, "found a word, but `columns` does not map it; map it or remove it");
        } else if let Some(choice) = words::choice(word, UNREADABLE, &here, part.problems) {
            found.insert(name.clone(), choice);
        }
    }
    found
}
