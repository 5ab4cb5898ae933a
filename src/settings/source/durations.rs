//! `durations` of a record: how its lengths of time are written.

use std::collections::BTreeMap;

use super::columns::{Filled, known, texts};
use super::part::Part;
use super::text::OneOrMany;
use super::words_of_cells::DurationForm;
use crate::records::Kind;
use crate::settings::nearest::not_one_of;
use crate::settings::place::Place;

/// Forms of which no two may stand together: each reads what another means differently.
const ONE_OF_EACH: [&[DurationForm]; 2] = [
    &[DurationForm::Minutes, DurationForm::Hours, DurationForm::Days],
    &[DurationForm::HourMinute, DurationForm::MinuteSecond],
];

/// Canonical column of minutes -> forms, in the order to try.
pub fn durations(part: &mut Part, filled: &Filled) -> BTreeMap<String, Vec<DurationForm>> {
    let place = part.place.key("durations");
    let mut durations = BTreeMap::new();
    for (name, typed) in part.typed.durations.iter().flatten() {
        let here = place.key(name);
        let Some(column) = known(part, name, &here) else {
            continue;
        };
        if column.kind != Kind::Minutes {
            part.problems
                .add(&here, "found a form, but the column holds no length of time; remove it");
        } else if !filled.maps(name, part.problems) {
            part.problems
                .add(&here, "found a form, but `columns` does not map it; map it or remove it");
        } else {
            durations.insert(name.clone(), forms(part, typed, &here));
        }
    }
    durations
}

fn forms(part: &mut Part, typed: &OneOrMany, place: &Place) -> Vec<DurationForm> {
    let words = texts(typed, "form", place, part.problems);
    let mut forms = Vec::new();
    for (index, word) in words.iter().enumerate() {
        let here = match typed {
            OneOrMany::One(_) => place.clone(),
            OneOrMany::Many(_) => place.index(index),
        };
        match DurationForm::of(word) {
            Some(form) => forms.push(form),
            None => part.problems.add(&here, not_one_of(word, DurationForm::WORDS)),
        }
    }
    for group in ONE_OF_EACH {
        let found: Vec<&str> =
            group.iter().filter(|form| forms.contains(form)).map(|form| form.word()).collect();
        if found.len() > 1 {
            let why = "one cell would mean different lengths; keep the one that holds";
            part.problems.add(place, format!("found {}: {why}", found.join(" and ")));
        }
    }
    forms
}
