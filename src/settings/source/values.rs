//! `values` of a record: export words and the codes they stand for.

use std::collections::BTreeMap;

use super::columns::{Filled, known};
use super::part::Part;
use crate::records::{Column, Kind};
use crate::settings::place::Place;
use crate::settings::words;

/// Canonical column -> export word -> code.
pub fn values(part: &mut Part, filled: &Filled) -> BTreeMap<String, BTreeMap<String, String>> {
    let place = part.place.key("values");
    for (name, codes) in part.typed.values.iter().flatten() {
        let here = place.key(name);
        let Some(column) = known(part, name, &here) else {
            continue;
        };
        if !matches!(column.kind, Kind::Code | Kind::Flag) {
            part.problems.add(&here, "found values, but the column holds no codes; remove them");
        } else if !filled.maps(name, part.problems) {
            part.problems
                .add(&here, "found values, but `columns` does not map it; map it or remove them");
        } else {
            codes.iter().for_each(|(cell, code)| value(part, column, cell, code, &here));
        }
    }
    part.typed.values.clone().unwrap_or_default()
}

fn value(part: &mut Part, column: &Column, cell: &str, code: &str, place: &Place) {
    let here = place.key(cell);
    if cell.trim() != cell || cell.is_empty() {
        let why = "cells are trimmed, and an empty one is never given";
        part.problems.add(&here, format!("found {cell:?}, which no cell can be: {why}"));
    }
    match part.lists.allowed(column.name) {
        _ if code.is_empty() => {}
        Some(codes) => words::one_of(code, &codes, &here, part.problems),
        None => words::word(code, &here, part.problems),
    }
}
