//! `numbers` of a record: the keys of its columns, checked against the columns and the source.

use std::collections::BTreeMap;

use super::columns::{Filled, known};
use super::number_keys::{NumberKeys, Numbers, Thousands, TypedNumber};
use super::part::Part;
use crate::records::Kind;
use crate::settings::fleet::{A_CURRENCY, is_currency};
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::words;

/// Canonical column -> how its numbers are written.
pub fn numbers(part: &mut Part, filled: &Filled) -> BTreeMap<String, Numbers> {
    let place = part.place.key("numbers");
    let mut numbers = BTreeMap::new();
    for (name, typed) in part.typed.numbers.iter().flatten() {
        let here = place.key(name);
        let Some(column) = known(part, name, &here) else { continue };
        let is_money = column.kind == Kind::Money;
        if !is_money && !matches!(column.kind, Kind::Integer | Kind::Minutes) {
            part.problems
                .add(&here, "found keys of numbers, but the column holds none; remove them");
        } else if !filled.maps(name, part.problems) {
            let advice = "`columns` does not map it; map it or remove this";
            part.problems.add(&here, format!("found keys of numbers, but {advice}"));
        } else {
            for (key, given) in [
                ("unit", typed.unit.is_some()),
                ("currency", typed.currency.is_some()),
                ("currency_column", typed.currency_column.is_some()),
            ] {
                if given && !is_money {
                    part.problems.add(&here.key(key), "is for amounts of money alone; remove it");
                }
            }
            numbers.insert(name.clone(), of_column(part, typed, &here));
        }
    }
    numbers
}

fn of_column(part: &mut Part, typed: &TypedNumber, place: &Place) -> Numbers {
    let keys = NumberKeys::read(typed, place, part.problems);
    let thousands = keys.thousands.or(part.dialect.thousands);
    let usual = mark_beside(part.dialect.decimal_mark, keys.thousands);
    let decimal_mark = keys.decimal_mark.unwrap_or(usual);
    differ(decimal_mark, thousands, &place.key("thousands"), part.problems);
    if let Some(code) = keys.currency.as_ref().filter(|code| !is_currency(code)) {
        let here = place.key("currency");
        part.problems.add(&here, format!("found {code:?}, expected {A_CURRENCY}"));
    }
    if let Some(name) = &keys.currency_column {
        words::word(name, &place.key("currency_column"), part.problems);
    }
    let NumberKeys { unit, blank, currency, currency_column, .. } = keys;
    Numbers { decimal_mark, thousands, unit, blank, currency, currency_column }
}

/// The decimal mark where none is given: `usual`, or the other one where that separates thousands.
pub fn mark_beside(usual: u8, thousands: Option<Thousands>) -> u8 {
    match (usual, thousands) {
        (b'.', Some(Thousands::Dot)) => b',',
        (b',', Some(Thousands::Comma)) => b'.',
        _ => usual,
    }
}

/// Notes a separator of thousands that is the decimal mark as well.
pub fn differ(mark: u8, thousands: Option<Thousands>, place: &Place, problems: &mut Problems) {
    let mark = char::from(mark);
    if thousands.is_some() && thousands == Thousands::of(mark) {
        let found = format!("found {:?}, which is the decimal mark too", mark.to_string());
        problems.add(place, format!("{found}; set `decimal_mark`"));
    }
}
