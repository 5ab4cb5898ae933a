//! What an export has that the map of its source does not know: a column that is gone or new, a new word, another order of
//! dates.

use crate::draft::code::{Known, known};
use crate::draft::name::{Clarity, Name};
use crate::draft::page::{counted, shown};
use crate::records::{Kind, columns};
use crate::settings::{Plan, RecordMap, Source, nearest};
use crate::tabular::profile::ColumnProfile;

/// Words of a column that are named.
const NAMED: usize = 5;

/// The differences between an export with these columns and the maps of its source, each a sentence.
pub fn changed(plan: &Plan, source: &Source, profiles: &[ColumnProfile]) -> Vec<String> {
    let mut found = Vec::new();
    let read = read_columns(source);
    let new: Vec<&str> = profiles
        .iter()
        .map(|profile| profile.name.as_str())
        .filter(|name| !name.is_empty() && !read.contains(name))
        .collect();
    for name in read.iter().filter(|name| !profiles.iter().any(|one| one.name == **name)) {
        let meant = named_alike(source, name, &new).or_else(|| nearest(name, new.iter().copied()));
        let meant = meant.map(|meant| format!("; {} is new: is it the same?", shown(meant)));
        found.push(format!(
            "the map reads column {}, which is gone{}",
            shown(name),
            meant.unwrap_or_default()
        ));
    }
    for record in &source.records {
        found.extend(new_words(plan, source, record, profiles));
        found.extend(other_dates(record, profiles));
    }
    found.dedup();
    found
}

/// Export columns that a source's maps read.
pub fn read_columns(source: &Source) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for record in &source.records {
        names.extend(record.columns.values().flatten().map(String::as_str));
        names.extend(record.when.iter().map(|when| when.column.as_str()));
        let currencies = record.numbers.values().filter_map(|one| one.currency_column.as_deref());
        names.extend(currencies);
    }
    names.sort_unstable();
    names.dedup();
    names
}

/// The new column whose name means what the one that is gone was read for.
fn named_alike<'n>(source: &Source, gone: &str, new: &[&'n str]) -> Option<&'n str> {
    let means = |record: &RecordMap, canonical: &str| {
        let column = columns(record.table).iter().find(|column| column.name == canonical)?;
        let is_it =
            |name: &&&str| Name::of(name).clarity(record.table, column) == Some(Clarity::Exact);
        new.iter().find(is_it).copied()
    };
    source.records.iter().find_map(|record| {
        let mut read = record.columns.iter().filter(|(_, names)| names.iter().any(|n| n == gone));
        read.find_map(|(canonical, _)| means(record, canonical))
    })
}

/// Words of coded columns that the map turns into no code.
fn new_words(
    plan: &Plan,
    source: &Source,
    record: &RecordMap,
    profiles: &[ColumnProfile],
) -> Vec<String> {
    let mut found = Vec::new();
    for (column, names) in &record.columns {
        let Some(allowed) = plan.allowed(column) else { continue };
        let [name] = names.as_slice() else { continue };
        let Some(profile) = profiles.iter().find(|one| one.name == *name) else { continue };
        let values = record.values.get(column);
        let is_known = |word: &str| {
            word.is_empty()
                || allowed.contains(&word)
                || values.is_some_and(|values| values.contains_key(word))
                || source.dialect.nulls.iter().any(|null| null == word)
        };
        let words = profile.words.iter().flatten().map(|(word, count)| (word.as_str(), *count));
        let new: Vec<(&str, usize)> = words.filter(|(word, _)| !is_known(word)).collect();
        let Some((first, _)) = new.first() else { continue };
        let mapped = values.into_iter().flatten().map(|(word, _)| word.as_str());
        let meant = match known(column, first, &allowed) {
            Known::Sure(code) | Known::Likely(code, _) => Some(code),
            _ => nearest(first, mapped.chain(allowed.iter().copied())).map(str::to_owned),
        };
        let meant =
            meant.map(|meant| format!("; {} is nearest to {}", shown(first), shown(&meant)));
        found.push(format!(
            "column {} holds words that `{column}` does not know: {}{}",
            shown(name),
            counted(&new, NAMED),
            meant.unwrap_or_default()
        ));
    }
    found
}

/// Times that are written in none of the map's patterns.
fn other_dates(record: &RecordMap, profiles: &[ColumnProfile]) -> Vec<String> {
    let times = columns(record.table).iter().filter(|column| column.kind == Kind::Time);
    let mut found = Vec::new();
    for column in times {
        let (Some(names), Some(patterns)) =
            (record.columns.get(column.name), record.dates.get(column.name))
        else {
            continue;
        };
        let first = names.first().and_then(|name| profiles.iter().find(|one| one.name == *name));
        let Some(profile) = first.filter(|profile| !profile.dates.is_empty()) else { continue };
        let fits = |fit: &String| patterns.iter().any(|pattern| pattern.starts_with(fit.as_str()));
        if !profile.dates.iter().flat_map(|fit| &fit.patterns).any(fits) {
            let now: Vec<&str> = profile.dates[0].patterns.iter().map(String::as_str).collect();
            found.push(format!(
                "column {} is written {}, not {} as the map says",
                shown(&profile.name),
                now.join(" or "),
                patterns.join(" or ")
            ));
        }
    }
    found
}
