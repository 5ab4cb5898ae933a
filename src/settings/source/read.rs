//! From the sources as typed to the sources.

use std::collections::hash_map::Entry;

use rustc_hash::FxHashMap;

use super::declared::{Dialect, Source, TypedSource};
use super::{dialect, numbers, parts, people};
use crate::records::Finding;
use crate::settings::fleet::Fleet;
use crate::settings::lists::Lists;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::words;

/// The sources, ordered by name; each name once.
pub fn sources(
    typed: Option<&[TypedSource]>,
    fleet: &Fleet,
    lists: &Lists,
    problems: &mut Problems,
) -> Vec<Source> {
    let place = Place::default().key("source");
    let typed = typed.unwrap_or_default();
    if typed.is_empty() {
        problems.add(&place, "missing; expected at least one [[source]]");
    }
    let mut sources: Vec<Source> = Vec::new();
    let mut lines: FxHashMap<String, usize> = FxHashMap::default();
    for (index, typed) in typed.iter().enumerate() {
        let here = place.index(index);
        let source = source(typed, fleet, lists, &here, problems);
        match lines.entry(source.name.clone()) {
            Entry::Occupied(first) if typed.name.is_some() => {
                let taken = format!("the name of the source on line {}", first.get());
                let message = format!("found {:?}, {taken}; use another", source.name);
                problems.add(&here.key("name"), message);
            }
            Entry::Occupied(_) => {}
            Entry::Vacant(first) => {
                first.insert(source.line);
            }
        }
        sources.push(source);
    }
    sources.sort_by(|a, b| a.name.cmp(&b.name));
    sources
}

/// One source: its keys by themselves, then what depends on several of them, on the fleet or on its lists.
fn source(
    typed: &TypedSource,
    fleet: &Fleet,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Source {
    let source = Source::read(typed, place, problems);
    let mut dialect = Dialect::read(typed, place, problems);
    if typed.decimal_mark.is_none() {
        dialect.decimal_mark = numbers::mark_beside(dialect.decimal_mark, dialect.thousands);
    }
    dialect::apart(&dialect.separator, dialect.quote, dialect.escape, place, problems);
    let here = place.key("thousands");
    numbers::differ(dialect.decimal_mark, dialect.thousands, &here, problems);
    if let Some(site) = &source.site {
        match lists.allowed("site") {
            Some(known) => words::one_of(site, &known, &place.key("site"), problems),
            None => words::word(site, &place.key("site"), problems),
        }
    }
    if let Some(finding) = &source.finding_default {
        words::one_of(finding, Finding::WORDS, &place.key("finding_default"), problems);
    }
    let records = typed.records.as_deref().unwrap_or_default();
    people::check_readers(&source.people, records, lists, &place.key("people"), problems);
    Source {
        line: problems.line_of(place),
        timezone: if typed.timezone.is_some() { source.timezone } else { fleet.timezone },
        records: parts::records(typed, &dialect, lists, place, problems),
        dialect,
        ..source
    }
}
