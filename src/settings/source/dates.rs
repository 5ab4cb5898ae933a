//! `dates` of a record: the patterns that its times are written in.

use std::collections::BTreeMap;

use super::columns::{Filled, known, texts};
use super::part::Part;
use super::text::OneOrMany;
use crate::records::{self, Kind};
use crate::settings::place::Place;

/// Patterns that are words: seconds and milliseconds since 1970 in UTC.
const EPOCHS: [&str; 2] = ["epoch-s", "epoch-ms"];
/// Letters that may follow `%`.
const FIELDS: &str = "YymbdHIMSfpz";
/// What every pattern names, once, and the letters of it.
const DAY: &[(&str, &str)] =
    &[("year (%Y or %y)", "Yy"), ("month (%m or %b)", "mb"), ("day (%d)", "d")];
/// What a pattern may name, once.
const TIME: &[(&str, &str)] =
    &[("hour (%H or %I)", "HI"), ("%p", "p"), ("%M", "M"), ("%S", "S"), ("%f", "f"), ("%z", "z")];
/// Letters that mean nothing unless one of the others is there too.
const BESIDE: &[(&str, &str)] =
    &[("I", "p"), ("p", "I"), ("M", "HI"), ("S", "M"), ("f", "S"), ("z", "HI")];

/// Canonical time column -> patterns, in the order to try.
pub fn dates(part: &mut Part, filled: &Filled) -> BTreeMap<String, Vec<String>> {
    let place = part.place.key("dates");
    let mut dates = BTreeMap::new();
    for (name, typed) in part.typed.dates.iter().flatten() {
        let here = place.key(name);
        let Some(column) = known(part, name, &here) else {
            continue;
        };
        if column.kind != Kind::Time {
            part.problems.add(&here, "found a pattern, but the column holds no time; remove it");
        } else if !filled.maps(name, part.problems) {
            part.problems
                .add(&here, "found a pattern, but `columns` does not map it; map it or remove it");
        } else {
            dates.insert(name.clone(), patterns(part, typed, &here));
        }
    }
    for column in records::columns(part.table) {
        let here = place.key(column.name);
        let written =
            part.typed.dates.as_ref().is_some_and(|dates| dates.contains_key(column.name));
        if column.kind == Kind::Time && filled.maps(column.name, part.problems) && !written {
            part.problems.add(&here, "missing; expected a pattern such as \"%Y-%m-%d %H:%M\"");
        }
    }
    dates
}

fn patterns(part: &mut Part, typed: &OneOrMany, place: &Place) -> Vec<String> {
    let patterns = texts(typed, "pattern", place, part.problems);
    for (index, pattern) in patterns.iter().enumerate() {
        let here = match typed {
            OneOrMany::One(_) => place.clone(),
            OneOrMany::Many(_) => place.index(index),
        };
        if let Some(fault) = fault(pattern).filter(|_| !pattern.trim().is_empty()) {
            part.problems.add(&here, format!("found {pattern:?}, {fault}"));
        } else if part.source.two_digit_years_from.is_none() && has_short_year(pattern) {
            let advice =
                "expected `two_digit_years_from` in the source, such as 1970 for 1970 to 2069";
            part.problems.add(&here, format!("found %y in {pattern:?}, {advice}"));
        }
    }
    patterns
}

/// What keeps a pattern from naming one time, none if nothing does.
fn fault(pattern: &str) -> Option<String> {
    if EPOCHS.contains(&pattern) {
        return None;
    }
    let fields = match fields(pattern) {
        Ok(fields) => fields,
        Err(fault) => return Some(fault),
    };
    let count = |wanted: &str| fields.iter().filter(|field| wanted.contains(**field)).count();
    if let Some((what, _)) = DAY.iter().find(|(_, letters)| count(letters) == 0) {
        return Some(format!("expected a {what} in it, or one of {}", EPOCHS.join(", ")));
    }
    if let Some((what, _)) = DAY.iter().chain(TIME).find(|(_, letters)| count(letters) > 1) {
        return Some(format!("expected one {what} in it, not several"));
    }
    let lone = BESIDE.iter().find(|(fine, coarse)| count(fine) > 0 && count(coarse) == 0);
    lone.map(|(fine, coarse)| format!("expected {} beside %{fine}", listed(coarse, " or ")))
}

fn has_short_year(pattern: &str) -> bool {
    fields(pattern).is_ok_and(|fields| fields.contains(&'y'))
}

fn listed(letters: &str, between: &str) -> String {
    let fields: Vec<String> = letters.chars().map(|letter| format!("%{letter}")).collect();
    fields.join(between)
}

fn fields(pattern: &str) -> Result<Vec<char>, String> {
    let mut fields = Vec::new();
    let mut rest = pattern.chars();
    while let Some(letter) = rest.next() {
        if letter != '%' {
            continue;
        }
        match rest.next() {
            Some(field) if FIELDS.contains(field) => fields.push(field),
            other => {
                let found = other.map(String::from).unwrap_or_default();
                return Err(format!("expected no %{found} (known: {})", listed(FIELDS, " ")));
            }
        }
    }
    Ok(fields)
}
