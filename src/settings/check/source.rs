//! `[[source]]`: one exporter of records.

use std::collections::BTreeMap;
use std::collections::hash_map::Entry;

use rustc_hash::FxHashMap;

use super::lists::Lists;
use super::{dialect, files, people, record};
use crate::calendar::ClockChange;
use crate::records::{Finding, Table};
use crate::settings::nearest::unknown;
use crate::settings::place::Place;
use crate::settings::plan::{Cover, Fleet, NameScope, Source};
use crate::settings::problems::Problems;
use crate::settings::words;
use crate::settings::written;

/// Years that may begin the hundred that two digits mean.
const PIVOTS: [i64; 2] = [1900, 2000];

/// The sources, ordered by name; each name once.
pub fn sources(
    written: Option<&[written::Source]>,
    fleet: &Fleet,
    lists: &Lists,
    problems: &mut Problems,
) -> Vec<Source> {
    let place = Place::default().key("source");
    let written = written.unwrap_or_default();
    if written.is_empty() {
        problems.add(&place, "missing; expected at least one [[source]]");
    }
    let mut sources: Vec<Source> = Vec::new();
    let mut lines: FxHashMap<String, usize> = FxHashMap::default();
    for (index, typed) in written.iter().enumerate() {
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

fn source(
    typed: &written::Source,
    fleet: &Fleet,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Source {
    let name = typed.name.as_deref();
    let name = words::required(name, "a name for the source", &place.key("name"), problems);
    let files = files::files(typed.files.as_deref(), &place.key("files"), problems);
    let site = site(typed.site.as_deref(), lists, &place.key("site"), problems);
    let zone = typed.timezone.as_deref();
    let zone = zone.and_then(|zone| words::zone(zone, &place.key("timezone"), problems));
    let clock = typed.clock_change.as_deref();
    let clock = clock.and_then(|word| clock_change(word, &place.key("clock_change"), problems));
    let names = typed.end_face_names.as_deref();
    let scope = scope(names, &place.key("end_face_names"), problems);
    if let Some(finding) = &typed.finding_default {
        words::one_of(finding, Finding::WORDS, &place.key("finding_default"), problems);
    }
    let dialect = dialect::dialect(typed, place, problems);
    Source {
        name,
        line: problems.line_of(place),
        files,
        site,
        timezone: zone.unwrap_or(fleet.timezone),
        clock_change: clock.unwrap_or(ClockChange::Quarantine),
        two_digit_years_from: pivot(typed, place, problems),
        scope,
        one_name_both_sides: typed.one_name_both_sides.unwrap_or(false),
        finding_default: typed.finding_default.clone(),
        people: people::people(typed, lists, place, problems),
        covers: covers(typed.covers.as_ref(), &place.key("covers"), problems),
        records: record::records(typed, &dialect, lists, place, problems),
        dialect,
    }
}

fn site(
    site: Option<&str>,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Option<String> {
    let site = site?;
    match lists.allowed("site") {
        Some(known) => words::one_of(site, &known, place, problems),
        None => words::word(site, place, problems),
    }
    Some(site.to_owned())
}

/// The first of the hundred years that two digits mean.
fn pivot(typed: &written::Source, place: &Place, problems: &mut Problems) -> Option<i64> {
    let year = typed.two_digit_years_from?;
    let [first, last] = PIVOTS;
    Some(words::whole(year, first, last, &place.key("two_digit_years_from"), problems))
}

fn clock_change(word: &str, place: &Place, problems: &mut Problems) -> Option<ClockChange> {
    let choices = [
        ("earlier", ClockChange::Earlier),
        ("later", ClockChange::Later),
        ("quarantine", ClockChange::Quarantine),
    ];
    words::choice(word, &choices, place, problems)
}

fn scope(word: Option<&str>, place: &Place, problems: &mut Problems) -> NameScope {
    if word.is_none() {
        let wanted = "\"fleet\" or \"site\": where an end-face name is unique";
        problems.add(place, format!("missing; expected {wanted}"));
    }
    let choices = [("fleet", NameScope::Fleet), ("site", NameScope::Site)];
    let scope = word.and_then(|word| words::choice(word, &choices, place, problems));
    scope.unwrap_or(NameScope::Site)
}

fn covers(
    written: Option<&BTreeMap<String, written::Cover>>,
    place: &Place,
    problems: &mut Problems,
) -> BTreeMap<Table, Cover> {
    let mut covers = BTreeMap::new();
    for (name, typed) in written.into_iter().flatten() {
        let here = place.key(name);
        let Some(table) = Table::named(name) else {
            let known = Table::ALL.map(Table::name);
            problems.add(&here, unknown("there is no such table", name, &known));
            continue;
        };
        if let Some(cover) = cover(typed, &here, problems) {
            covers.insert(table, cover);
        }
    }
    covers
}

fn cover(typed: &written::Cover, place: &Place, problems: &mut Problems) -> Option<Cover> {
    let mut day = |day: &Option<crate::settings::day::Day>, key: &str| {
        let here = place.key(key);
        if day.is_none() {
            problems.add(&here, "missing; expected a day such as \"2026-07-05\"");
        }
        words::day(day.as_ref()?, &here, problems)
    };
    let (from, to) = (day(&typed.from, "from"), day(&typed.to, "to"));
    let (from, to) = (from?, to?);
    if from > to {
        problems.add(place, format!("found from {from} to {to}; expected from not after to"));
    }
    Some(Cover { from, to, complete: typed.complete.unwrap_or(false) })
}
