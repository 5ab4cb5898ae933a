//! `columns` and `constants` of a record: which canonical columns are filled, and from what.

use std::collections::BTreeMap;

use super::part::Part;
use super::text::OneOrMany;
use super::zones;
use crate::records::{self, Column, Kind, Table};
use crate::settings::money::minor_units;
use crate::settings::nearest::unknown;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::words;

/// The canonical column of that name in the part's table; notes where there is none.
pub fn known(part: &mut Part, name: &str, place: &Place) -> Option<&'static Column> {
    let columns = records::columns(part.table);
    let column = columns.iter().find(|column| column.name == name);
    if column.is_none() {
        let names: Vec<&str> = columns.iter().map(|column| column.name).collect();
        let what = format!("{} have no such column", part.table.name());
        part.problems.add(place, unknown(&what, name, &names));
    }
    column
}

/// Canonical column -> export columns.
pub fn columns(part: &mut Part) -> BTreeMap<String, Vec<String>> {
    let place = part.place.key("columns");
    let mut columns = BTreeMap::new();
    for (name, typed) in part.typed.columns.iter().flatten() {
        let here = place.key(name);
        if known(part, name, &here).is_some() {
            columns.insert(name.clone(), texts(typed, "export column", &here, part.problems));
        }
    }
    columns
}

/// One text or several, none of them blank.
pub fn texts(typed: &OneOrMany, what: &str, place: &Place, problems: &mut Problems) -> Vec<String> {
    match typed {
        OneOrMany::One(text) => {
            words::word(text, place, problems);
            vec![text.clone()]
        }
        OneOrMany::Many(texts) => {
            if texts.is_empty() {
                problems.add(place, format!("is empty; expected at least one {what}"));
            }
            words::list(texts, place, problems);
            texts.clone()
        }
    }
}

/// Canonical column -> the text that every row has there.
pub fn constants(part: &mut Part) -> BTreeMap<String, String> {
    let place = part.place.key("constants");
    for (name, text) in part.typed.constants.iter().flatten() {
        let here = place.key(name);
        if name == "site" {
            part.problems.add(&here, "a constant site belongs to the source; set `site` there");
        } else if let Some(column) = known(part, name, &here) {
            let both =
                part.typed.columns.as_ref().is_some_and(|columns| columns.contains_key(name));
            if both {
                part.problems.add(&here, "found in `columns` too; keep one of the two");
            }
            constant(part, column, text, &here);
        }
    }
    part.typed.constants.clone().unwrap_or_default()
}

fn constant(part: &mut Part, column: &Column, text: &str, place: &Place) {
    let mark = char::from(part.dialect.decimal_mark).to_string();
    let wanted = match column.kind {
        Kind::Time => Some("a time from `columns`: it cannot be the same for every row"),
        Kind::Integer | Kind::Minutes if text.parse::<i64>().is_err() => Some("a whole number"),
        Kind::Money if minor_units(&text.replace(&mark, ".")).is_none() => {
            Some("an amount with at most 2 decimals")
        }
        _ => None,
    };
    match (wanted, part.lists.allowed(column.name)) {
        (Some(wanted), _) => part.problems.add(place, format!("found {text:?}, expected {wanted}")),
        (None, Some(codes)) => words::one_of(text, &codes, place, part.problems),
        (None, None) => words::word(text, place, part.problems),
    }
}

/// The canonical columns that a record part fills.
pub struct Filled<'a> {
    mapped: Vec<&'a str>,
    constant: Vec<&'a str>,
    place: Place,
}

impl<'a> Filled<'a> {
    /// Those of `part`.
    pub fn of(part: &Part<'a, '_, '_>) -> Self {
        let names = |table: Option<Vec<&'a String>>| -> Vec<&'a str> {
            table.unwrap_or_default().into_iter().map(String::as_str).collect()
        };
        let mut mapped = names(part.typed.columns.as_ref().map(|map| map.keys().collect()));
        if part.typed.zones.is_some() {
            mapped.extend(zones::MADE);
        }
        Self {
            mapped,
            constant: names(part.typed.constants.as_ref().map(|map| map.keys().collect())),
            place: part.place.clone(),
        }
    }

    /// Whether an export column is mapped to it; also where what was written there had a wrong type.
    pub fn maps(&self, column: &str, problems: &Problems) -> bool {
        self.mapped.contains(&column)
            || problems.is_mistyped(&self.place.key("columns").key(column))
    }

    fn has(&self, column: &str, problems: &Problems) -> bool {
        self.constant.contains(&column)
            || self.maps(column, problems)
            || problems.is_mistyped(&self.place.key("constants").key(column))
    }

    /// Notes what is missing for the table's records to be of use.
    pub fn check(&self, part: &mut Part) {
        let place = part.place.key("columns");
        self.check_site(part, &place.key("site"));
        for column in records::columns(part.table) {
            let needed = column.required && column.name != "site";
            if needed && !self.has(column.name, part.problems) {
                let wanted = format!("{} need it: name its export column", part.table.name());
                part.problems.add(&place.key(column.name), format!("missing; {wanted}"));
            }
        }
        let either: [&str; 2] = match part.table {
            Table::Matings => ["end_face_a", "end_face_b"],
            Table::Faults => ["mating", "end_face"],
            _ => return self.check_sides(part, &place),
        };
        if !either.iter().any(|column| self.has(column, part.problems)) {
            let [one, other] = either;
            let wanted = format!("{} need `{one}` or `{other}`", part.table.name());
            part.problems.add(&place, format!("missing; {wanted}"));
        }
        self.check_sides(part, &place);
    }

    fn check_site(&self, part: &mut Part, place: &Place) {
        let source_place = part.place.split().and_then(|(records, _)| Some(records.split()?.0));
        let source_mistyped =
            source_place.is_some_and(|source| part.problems.is_mistyped(&source.key("site")));
        match (&part.source.site, self.has("site", part.problems)) {
            (Some(site), true) if self.mapped.contains(&"site") => {
                let what = format!("found a map, but the source has the site {site:?}");
                part.problems.add(place, format!("{what}; keep one of the two"));
            }
            (None, false) if !source_mistyped => {
                let wanted = "map the column, or give the source one `site`";
                part.problems.add(place, format!("missing; {wanted}"));
            }
            _ => {}
        }
    }

    /// Where one name covers both sides of an adapter, a name without its side is no key (R1).
    fn check_sides(&self, part: &mut Part, place: &Place) {
        if part.source.one_name_both_sides != Some(true) {
            return;
        }
        // A fault that names its mating does without.
        if part.table == Table::Faults && self.has("mating", part.problems) {
            return;
        }
        for [name, side] in records::face_columns(part.table) {
            if self.has(name, part.problems) && !self.has(side, part.problems) {
                let why = format!("with one_name_both_sides `{name}` needs its side");
                part.problems.add(&place.key(side), format!("missing; {why}"));
            }
        }
    }
}
