//! New exports beside those that the settings read already: sources are added behind, questions on top; no line that is
//! there changes but a list of files that gets another.

use super::changed::{changed, read_columns};
use super::first::left_out;
use super::glob::matches;
use super::questions::block;
use super::sources::sources;
use super::{Exported, FleetAsked, FleetDraft};
use crate::draft::page::{LiftedQuestion, quoted};
use crate::settings::{ASKED, Plan, Source, answer_of};

/// Share of a source's columns that an export has if it is nearly of that shape, in hundredths.
const NEAR_HUNDREDTHS: usize = 70;

/// Adds what is new to the settings of `asked`, which must be there.
pub fn more(asked: &FleetAsked, exports: Vec<Exported>) -> FleetDraft {
    let Some((plan, text)) = &asked.known else { return super::first(asked, exports) };
    let mut text = text.clone();
    let mut told = Vec::new();
    let mut new: Vec<Exported> = Vec::new();
    for export in exports {
        let reads_it = |source: &&Source| source.files.iter().any(|one| matches(one, &export.file));
        let Some(source) = plan.sources.iter().find(reads_it) else {
            new.push(export);
            continue;
        };
        told.extend(differences(plan, source, &export).map(|found| {
            format!("{}: {} is not as its map expects: {found}", source.name, export.file)
        }));
    }
    let mut without: Vec<Exported> = Vec::new();
    for export in new {
        // A file of a shape that a source reads is one more file of that source.
        match plan.sources.iter().find(|source| reads(source, &export)) {
            Some(source) if add_file(&mut text, source, &export.file) => {
                told.push(format!("{}: also reads {}", source.name, export.file));
            }
            _ => {
                told.extend(nearly(plan, &export));
                without.push(export);
            }
        }
    }
    let taken: Vec<String> = plan.sources.iter().map(|source| source.name.clone()).collect();
    let known = answers_of(&text);
    let found = sources(asked, without, &taken, known.clone());
    let new: Vec<LiftedQuestion> = found
        .asked
        .iter()
        .filter(|one| {
            one.answer.as_ref().is_none_or(|answer| known.iter().all(|(key, _)| key != answer))
        })
        .cloned()
        .collect();
    let (questions, count) = block(&new, last_number(&text));
    let at = first_section(&text);
    text.insert_str(at, &questions);
    text.truncate(text.trim_end().len());
    text.push('\n');
    let new = found.text.clone() + &left_out(&found, &text);
    text.push_str(&new);
    told.extend(found.told);
    FleetDraft { toml: text, sources: told, left_out: found.left_out, questions: count }
}

/// How an export differs from what a source expects, if it does.
fn differences(plan: &Plan, source: &Source, export: &Exported) -> Option<String> {
    let found = changed(plan, source, &export.columns);
    (!found.is_empty()).then(|| found.join("; "))
}

/// How an export that no source reads differs from what the nearest expects, if one is near.
fn nearly(plan: &Plan, export: &Exported) -> Option<String> {
    let has = |name: &&&str| export.columns.iter().any(|column| column.name == **name);
    let shared_hundredths = |source: &Source| {
        let columns = read_columns(source);
        columns.iter().filter(has).count() * 100 / columns.len().max(1)
    };
    let is_near = |(shared, source): &(usize, &Source)| {
        *shared >= NEAR_HUNDREDTHS && same_site(source, export)
    };
    let sources = plan.sources.iter().map(|source| (shared_hundredths(source), source));
    // Of several that are as near the first.
    let (_, source) = sources.filter(is_near).rev().max_by_key(|(shared, _)| *shared)?;
    differences(plan, source, export).map(|found| {
        format!(
            "{} is nearly as {} expects: {found}; it gets a source of its own, with every answer that still holds",
            export.file, source.name
        )
    })
}

/// Whether a source's maps find all their columns in an export, and the export has no other.
fn reads(source: &Source, export: &Exported) -> bool {
    let mut columns = read_columns(source);
    columns.retain(|name| !name.is_empty());
    let written =
        (&source.dialect.separator, source.dialect.skip_lines, source.dialect.header_rows);
    let own = (&export.dialect.separator, export.dialect.skip_lines, export.dialect.header_rows);
    !columns.is_empty()
        && written == own
        && columns.iter().all(|name| export.columns.iter().any(|column| column.name == *name))
        && same_site(source, export)
}

/// A file in another folder may be of another site, where the source says the site.
fn same_site(source: &Source, export: &Exported) -> bool {
    let folder = super::group::folder(&export.file);
    source.site.is_none() || source.files.iter().any(|glob| super::group::folder(glob) == folder)
}

/// Adds a file to the list of a source; false where the list is not written on one line behind `files =`.
fn add_file(text: &mut String, source: &Source, file: &str) -> bool {
    let mut at = 0;
    for (number, line) in text.split_inclusive('\n').enumerate() {
        let key = line.trim_start();
        if number + 1 > source.line && key.starts_with("[[source]]") {
            return false;
        }
        if number + 1 > source.line && key.starts_with("files") {
            let Some(end) = line.rfind(']').filter(|_| key.contains('[')) else { return false };
            text.insert_str(at + end, &format!(", {}", quoted(file)));
            return true;
        }
        at += line.len();
    }
    false
}

/// Answers in the settings, open ones too: keys with what stands there.
fn answers_of(text: &str) -> Vec<(String, String)> {
    let answers = text.lines().filter_map(|line| answer_of(line.trim()));
    answers.map(|answer| (answer.key, answer.value)).collect()
}

/// The highest number of a question that was asked.
fn last_number(text: &str) -> usize {
    let numbers = text.lines().filter_map(|line| {
        let rest = line.strip_prefix(ASKED).or_else(|| line.strip_prefix('#'))?;
        rest.trim_start().split_once(". ")?.0.parse::<usize>().ok()
    });
    numbers.max().unwrap_or(0)
}

/// Where the first table of the settings begins.
fn first_section(text: &str) -> usize {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if line.trim_start().starts_with('[') {
            return at;
        }
        at += line.len();
    }
    at
}
