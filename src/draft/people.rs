//! Columns of people's names, wherever they stand: masked by default, shown nowhere (R7).

use super::fit::{Fit, holds_people, looks_like_people};
use super::mapped::{Part, is_read};
use super::name::Name;
use super::page::{Page, Standing, key, quoted};
use super::parts::is_usable;
use super::vocabulary::Token;
use crate::tabular::profile::{ColumnProfile, Guess};

/// Whether its name says so, or most of its cells look like it and its name says nothing else: enough to
/// show none of them.
pub fn may_hold_people(column: &ColumnProfile) -> bool {
    let name = Name::of(&column.name);
    name.is_of_people() || !name.is_known() && looks_like_people(column) == Fit::Good
}

/// Whether its name is one of things that are counted or measured: a number there is nobody's.
fn is_counted(name: &str) -> bool {
    Name::of(name).has(Token::Other)
}

/// The key of the source that masks columns of people which no part reads. Those that a part reads as
/// inspector or operator are pseudonyms without being named.
pub fn people(page: &mut Page, columns: &[ColumnProfile], parts: &[Part]) {
    let is_number = |column: &ColumnProfile| {
        column.given() > 0 && matches!(column.kind, Guess::Integer | Guess::Decimal { .. })
    };
    let masked = columns.iter().filter(|column| {
        is_usable(&column.name, columns)
            && !(is_number(column) && is_counted(&column.name))
            && !is_read(&column.name, parts)
            && holds_people(&column.name)
    });
    let entries: Vec<String> =
        masked.map(|column| format!("{} = {}", key(&column.name), quoted("drop"))).collect();
    if !entries.is_empty() {
        let value = format!("{{ {} }}", entries.join(", "));
        let remark = "names of people: masked in every rejected row, kept nowhere";
        page.line("people", &value, &Standing::Sure, Some(remark));
    }
}
