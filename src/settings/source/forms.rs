//! `forms` of a record: how the cells of several export columns are written into one text.

use std::collections::BTreeMap;

use super::columns::{Filled, known};
use super::part::Part;
use super::piece::{Piece, pieces};
use super::text::OneOrMany;
use crate::records::Kind;
use crate::settings::place::Place;

/// Canonical column -> the pieces of its text.
pub fn forms(part: &mut Part, filled: &Filled) -> BTreeMap<String, Vec<Piece>> {
    let place = part.place.key("forms");
    let mut forms = BTreeMap::new();
    for (name, typed) in part.typed.forms.iter().flatten() {
        let here = place.key(name);
        let Some(column) = known(part, name, &here) else { continue };
        if !matches!(column.kind, Kind::Text | Kind::Code | Kind::Time) {
            part.problems.add(&here, "found a form, but only texts, words and times are composed");
        } else if !filled.maps(name, part.problems) {
            part.problems
                .add(&here, "found a form, but `columns` does not map it; map it or remove it");
        } else if let Some(pieces) = form(part, name, typed, &here) {
            forms.insert(name.clone(), pieces);
        }
    }
    forms
}

/// The pieces of one form: it names the columns that `columns` gives, each at least once.
fn form(part: &mut Part, name: &str, typed: &str, place: &Place) -> Option<Vec<Piece>> {
    let Some(pieces) = pieces(typed) else {
        let wanted = "expected names of export columns in braces, such as \"{Rack}-{Port}\"";
        part.problems.add(place, format!("found {typed:?}, {wanted}"));
        return None;
    };
    let mapped: Vec<&str> = match part.typed.columns.as_ref().and_then(|map| map.get(name)) {
        Some(OneOrMany::One(one)) => vec![one.as_str()],
        Some(OneOrMany::Many(many)) => many.iter().map(String::as_str).collect(),
        None => return None,
    };
    let named = |column: &str| pieces.iter().any(|piece| *piece == Piece::Column(column.into()));
    for piece in &pieces {
        if let Piece::Column(column) = piece
            && !mapped.contains(&column.as_str())
        {
            let why = format!("`columns` does not give it for `{name}`; add it there");
            part.problems.add(place, format!("found {{{column}}}, but {why}"));
        }
    }
    for column in mapped.into_iter().filter(|column| !named(column)) {
        let why = format!("`columns` gives it for `{name}`; write it into the form or take it out");
        part.problems.add(place, format!("found no {{{column}}}, but {why}"));
    }
    Some(pieces)
}
