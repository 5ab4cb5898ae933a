//! A source a group, with its questions gathered.

use super::clocks::Clocks;
use super::facts::{LikelySite, end_face_names, likely_site, sites, stem};
use super::glob::globs;
use super::group::{Group, folder, groups};
use super::joined::{join, whole_names};
use super::{Exported, FleetAsked};
use crate::draft::asked::{Asked, FleetFacts, Remembered, open_answers};
use crate::draft::drafted::{Drafted, drafted, write_source};
use crate::draft::mapped::{Part, is_read};
use crate::draft::page::{LiftedQuestion, Page, Standing, shown, site_of};
use crate::draft::parts::is_usable;
use crate::draft::people::may_hold_people;
use crate::draft::texts::texts;
use crate::records::Table;
use crate::settings::{Codes, NameScope, Plan, Stages};
use crate::tabular::profile::{ColumnProfile, counted};

/// Sources of a folder.
#[derive(Debug)]
pub struct Sources {
    /// `[[source]]` after `[[source]]`.
    pub text: String,
    pub asked: Vec<LiftedQuestion>,
    pub sites: Vec<String>,
    /// Whether some of them are names of folders only.
    pub guessed_sites: bool,
    /// The currency, and what is asked about it.
    pub currency: Option<(String, Standing)>,
    /// What the times say of the fleet's zone.
    pub clocks: Clocks,
    pub told: Vec<String>,
    pub left_out: Vec<(String, String)>,
}

/// Points by which a table must lead the next before the guess is no question.
const LEAD: f64 = 1.0;
/// Most files that a comment names.
const MOST_FILES: usize = 4;
/// Most different words of a column that may be of sites, and how often each stands there at least, on average.
const MOST_WORDS: usize = 60;
const LEAST_TIMES: usize = 3;

/// Drafts sources for the exports. `taken` are names of sources that there are, `before` their answers, keys with values.
pub fn sources(
    asked: &FleetAsked,
    exports: Vec<Exported>,
    taken: &[String],
    before: Vec<(String, String)>,
) -> Sources {
    let base = base(asked);
    let is_sited = |export: &Exported| {
        let drafted = drafted(&of_file(&base, &export.file, export), &export.columns);
        has_site(&drafted)
    };
    let groups = groups(exports, &is_sited);
    let mut names: Vec<String> = taken.to_vec();
    let drafts = |base: &Asked| -> Vec<Drafted> {
        groups.iter().map(|group| drafted(&of_group(base, group), &group.columns)).collect()
    };
    let mut first = drafts(&base);
    let mut known = base.sites.clone();
    if known.is_empty() {
        known = sites(&first);
        // A column of nothing but these is the site, whatever it is called.
        first = drafts(&Asked { sites: known.clone(), ..base.clone() });
    }
    let likely: Vec<Option<LikelySite>> = groups
        .iter()
        .zip(&first)
        .map(|(group, draft)| {
            (!has_site(draft)).then(|| likely_site(group, &known, &unread_words(group, draft)))
        })
        .collect();
    let without: Vec<Option<String>> = groups
        .iter()
        .zip(&likely)
        .zip(&first)
        .map(|((group, likely), draft)| {
            lacking(draft).or_else(|| unlisted(group, likely.as_ref()?, &base.sites, &before))
        })
        .collect();
    let mut all_sites = known.clone();
    for (likely, why) in likely.iter().zip(&without) {
        if let Some(site) = likely.as_ref().filter(|_| why.is_none())
            && !all_sites.contains(&site.name)
        {
            all_sites.push(site.name.clone());
        }
    }
    let fixed: Vec<Option<String>> =
        likely.iter().map(|likely| likely.as_ref().map(|site| site.name.clone())).collect();
    let is_answered =
        |plan: &&Plan| open_answers(plan).all(|(answer, _)| answer != "end_face_names");
    let answered = asked.known.as_ref().map(|(plan, _)| plan).filter(is_answered);
    let scope = match answered.and_then(|plan| plan.sources.first()) {
        Some(source) if source.scope == NameScope::Fleet => ("fleet", Standing::Sure),
        Some(_) => ("site", Standing::Sure),
        None => end_face_names(&groups, &first, &fixed),
    };
    let mut page = Page::lifting(before);
    let (mut told, mut left_out, mut clocks) = (Vec::new(), Vec::new(), Clocks::default());
    let mut used: Vec<Drafted> = Vec::new();
    let whole = whole_names(&groups, &first);
    for (at, ((group, likely), why)) in groups.iter().zip(likely).zip(without).enumerate() {
        if let Some(why) = why {
            left_out.extend(group.files.iter().map(|file| (file.clone(), why.clone())));
            continue;
        }
        let name = unique(group, &mut names);
        let mut one =
            Asked { source_name: name.clone(), sites: all_sites.clone(), ..of_group(&base, group) };
        one.fleet = Some(FleetFacts {
            files: globs(&group.files, &asked.files),
            end_face_names: scope.clone(),
            site: likely.as_ref().map(|site| (site.name.clone(), site.standing.clone())),
        });
        let mut draft = drafted(&one, &group.columns);
        let others = whole.iter().enumerate().filter(|(other, _)| *other != at);
        let others: Vec<_> = others.map(|(_, names)| names).collect();
        join(&mut draft, &group.rows, &others);
        let lead = draft.table.as_ref().map(|table| table.evidence.clone());
        // What stands in every row and is asked about by itself leaves no doubt about the table.
        let is_whole = |part: &Part| part.missing.iter().all(|one| one.likely.is_some());
        if draft.lead >= LEAD && draft.parts.iter().all(is_whole) {
            draft.table = None;
        }
        let lost: Vec<String> = draft.parts.iter().filter_map(lacks).collect();
        draft.parts.retain(|part| lacks(part).is_none());
        let folder = folder(group.files.first().map_or("", String::as_str));
        let is_of_folder = likely.as_ref().is_none_or(|site| site.is_of_folder);
        page.of_source(&name, folder, is_of_folder);
        page.blank();
        page.comment(&header(group, lead.as_deref()));
        lost.iter()
            .for_each(|why| page.comment(&format!("some of its rows become nothing: {why}")));
        write_source(&mut page, &one, &group.columns, &group.dialect, &draft);
        let tables: Vec<&str> = draft.parts.iter().map(|part| part.plan.table.name()).collect();
        told.push(format!(
            "{name}: {} of {}: {}",
            counted(group.files.len(), "file"),
            tables.join(" and "),
            lead.unwrap_or_default()
        ));
        clocks.add(&draft, group);
        used.push(draft);
    }
    let currency = super::facts::currency(&used);
    let (text, lifted) = page.finish_lifted();
    let guessed_sites = all_sites.len() > known.len();
    Sources {
        text,
        asked: lifted,
        sites: all_sites,
        guessed_sites,
        currency,
        clocks,
        told,
        left_out,
    }
}

/// Columns that no part reads and that hold a few words again and again, each with one of them.
fn unread_words(group: &Group, draft: &Drafted) -> Vec<(String, String)> {
    let is_list = |one: &&ColumnProfile| {
        one.words.as_ref().is_some_and(|words| (2..=MOST_WORDS).contains(&words.len()))
            && one.given() >= LEAST_TIMES * one.distinct
            && !may_hold_people(one)
            && !is_read(&one.name, &draft.parts)
            && is_usable(&one.name, &group.columns)
    };
    let named = |one: &ColumnProfile| Some((one.name.clone(), texts(one).first()?.0.to_owned()));
    group.columns.iter().filter(is_list).filter_map(named).collect()
}

fn has_site(draft: &Drafted) -> bool {
    draft.parts.iter().any(|part| part.filling("site").is_some())
}

/// What every export is asked alike.
fn base(asked: &FleetAsked) -> Asked {
    let known = asked.known.as_ref().map(|(plan, _)| plan);
    Asked {
        file: String::new(),
        source_name: String::new(),
        table: None,
        site: None,
        sites: known.map(|plan| plan.fleet.sites.clone()).unwrap_or_default(),
        stages: known.map_or_else(Stages::default, |plan| plan.stages.clone()),
        codes: known.map_or_else(Codes::default, |plan| plan.codes.clone()),
        rows: Default::default(),
        guessed_encoding: None,
        fleet: None,
        remembered: known.map(Remembered::of).unwrap_or_default(),
    }
}

fn of_file(base: &Asked, file: &str, export: &Exported) -> Asked {
    Asked { file: file.to_owned(), rows: export.rows.clone(), ..base.clone() }
}

fn of_group(base: &Asked, group: &Group) -> Asked {
    Asked {
        file: group.files.first().cloned().unwrap_or_default(),
        rows: group.rows.clone(),
        guessed_encoding: group.guessed_encoding.clone(),
        ..base.clone()
    }
}

/// Why no source can be drafted, if none can.
fn lacking(draft: &Drafted) -> Option<String> {
    draft.parts.first().and_then(lacks)
}

/// Why no source can be drafted of an export whose likely site is none of those that the settings list: they would be
/// refused. An answer that holds for its folder already is one of them.
fn unlisted(
    group: &Group,
    likely: &LikelySite,
    listed: &[String],
    before: &[(String, String)],
) -> Option<String> {
    let folder = folder(group.files.first().map_or("", String::as_str));
    let is_answered = likely.is_of_folder && before.iter().any(|(key, _)| *key == site_of(folder));
    (!listed.is_empty() && !listed.contains(&likely.name) && !is_answered).then(|| {
        "no column says its site, and where it stands names none of `sites`: add its site there, or put it into a folder \
         that is called like one"
            .to_owned()
    })
}

/// What the records of a part need and nothing fills, as a sentence.
fn lacks(part: &Part) -> Option<String> {
    // With one of its ends a mating is asked about, with none it is none.
    let has_end = part.mapped.iter().any(|one| one.column.name.starts_with("end_face_"));
    let other_end =
        |name: &str| part.plan.table == Table::Matings && has_end && name.starts_with("end_face_");
    let needed = part.missing.iter().filter(|one| one.likely.is_none() && !other_end(one.name));
    let missing: Vec<&str> = needed.map(|one| one.name).collect();
    let table = part.plan.table.name();
    (!missing.is_empty()).then(|| {
        format!("no table of ours fits; of {table}, the nearest, it lacks {}", missing.join(", "))
    })
}

/// What a comment over a source says.
fn header(group: &Group, why: Option<&str>) -> String {
    let files: Vec<String> = group.files.iter().take(MOST_FILES).map(|file| shown(file)).collect();
    let more = group.files.len().saturating_sub(MOST_FILES);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let why = why.map(|why| format!(": {why}")).unwrap_or_default();
    format!("{} ({}){more}{why}", files.join(", "), group.format)
}

/// A name for the source of a group that no other has.
fn unique(group: &Group, names: &mut Vec<String>) -> String {
    let file = group.files.first().map_or("", String::as_str);
    let stem = stem(file);
    let plain: String = match (group.files.len(), stem.find(|c: char| c.is_ascii_digit())) {
        (_, Some(digit)) if digit > 0 => {
            stem[..digit].trim_end_matches(['-', '_', ' ', '.']).to_owned()
        }
        _ => stem.to_owned(),
    };
    let plain = if plain.is_empty() { "export".to_owned() } else { plain };
    let mut name = plain.clone();
    for number in 2.. {
        if !names.contains(&name) {
            break;
        }
        name = format!("{plain}-{number}");
    }
    names.push(name.clone());
    name
}
