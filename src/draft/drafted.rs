//! A source from the profiles of its columns: its parts, and their text.

use super::asked::Asked;
use super::mapped::{Mapped, Part, is_read};
use super::numbers::Shared;
use super::page::{DraftDoubt, Page, Question, Standing, shown};
use super::part::part;
use super::parts::{MOST_COLUMNS, is_usable, parts};
use super::{people, source, write};
use crate::records::{Table, columns};
use crate::settings::Dialect;
use crate::tabular::profile::ColumnProfile;

/// A drafted map.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// Text for the settings, doubts in its comments.
    pub toml: String,
    /// The doubts, in the order of the text.
    pub doubts: Vec<DraftDoubt>,
}

/// The parts of a source, and what is asked about its table.
#[derive(Clone, Debug)]
pub struct Drafted<'p> {
    /// One a table that rows become.
    pub parts: Vec<Part<'p>>,
    /// Whether its rows are that at all; none where the table was given.
    pub table: Option<Question>,
    /// Points by which it leads the next table.
    pub lead: f64,
}

/// Most columns without use that are listed.
const MOST_UNUSED: usize = 200;

/// Drafts the map of an export with these columns, written in this dialect.
pub fn draft(asked: &Asked, columns: &[ColumnProfile], dialect: &Dialect) -> Draft {
    let drafted = drafted(asked, columns);
    let mut page = Page::default();
    page.comment(&format!("Draft of a map for {}.", shown(&asked.file)));
    page.comment("Lines that begin with \"# ?\" ask what the file does not tell: answer each, then remove it.");
    write_source(&mut page, asked, columns, dialect, &drafted);
    let (toml, doubts) = page.finish();
    Draft { toml, doubts }
}

/// The parts of an export with these columns.
pub fn drafted<'p>(asked: &Asked, columns: &'p [ColumnProfile]) -> Drafted<'p> {
    let (plans, table, lead) = parts(columns, asked);
    let mut parts: Vec<Part> = Vec::new();
    for plan in plans {
        let drafted = part(plan, parts.first(), asked);
        parts.push(drafted);
    }
    share_site(&mut parts);
    share_end(&mut parts);
    Drafted { parts, table, lead }
}

/// Writes `[[source]]` with its parts, and lists what they do not read.
pub fn write_source(
    page: &mut Page,
    asked: &Asked,
    columns: &[ColumnProfile],
    dialect: &Dialect,
    drafted: &Drafted,
) {
    let Drafted { parts, table, .. } = drafted;
    let shared = Shared::of(dialect, parts);
    source::source(page, asked, dialect, shared, parts);
    people::people(page, columns, parts);
    for (index, part) in parts.iter().enumerate() {
        write::record(page, index, part, shared, table.as_ref().filter(|_| index == 0));
    }
    unused(page, columns, parts);
}

/// Rows of one file have their site in one column: a part without it takes that of another.
fn share_site(parts: &mut [Part]) {
    let is_site = |one: &&Mapped| one.column.name == "site";
    let Some(site) = parts.iter().find_map(|part| part.mapped.iter().find(is_site).cloned()) else {
        return;
    };
    for part in parts.iter_mut() {
        if !part.mapped.iter().any(|one| is_site(&one)) {
            part.mapped.push(site.clone());
        }
    }
}

/// In a log of several kinds of rows the end face that was worked at mostly stands where a mating has its first end.
fn share_end(parts: &mut [Part]) {
    let is_end = |one: &&Mapped| one.column.name == "end_face_a" && one.names.len() == 1;
    let matings = parts.iter().find(|part| part.plan.table == Table::Matings);
    let Some(end) = matings.and_then(|part| part.mapped.iter().find(is_end)).cloned() else {
        return;
    };
    for part in parts.iter_mut().filter(|part| part.plan.when.is_some()) {
        let Some(column) = columns(part.plan.table).iter().find(|one| one.name == "end_face")
        else {
            continue;
        };
        let is_given = part.plan.candidates.iter().any(|one| one.profile.name == end.profile.name);
        let is_read = part.mapped.iter().any(|one| one.names.contains(&end.names[0]));
        let before = part.missing.len();
        part.missing.retain(|one| one.name != "end_face" || !is_given || is_read);
        if part.missing.len() < before {
            let name = shown(&end.profile.name);
            let question = Question {
                question: format!("Is {name} the column of `end_face` in these rows too?"),
                evidence: format!(
                    "rows of matings have their first end there, and {name} is given in these"
                ),
            };
            part.mapped.push(Mapped {
                column,
                standing: Standing::Proposed(question),
                values: Vec::new(),
                ..end.clone()
            });
        }
    }
}

/// Lists the columns that no part reads, so that nothing disappears silently.
fn unused(page: &mut Page, columns: &[ColumnProfile], parts: &[Part]) {
    let rest: Vec<&ColumnProfile> =
        columns.iter().filter(|one| !is_read(&one.name, parts)).collect();
    if rest.is_empty() {
        return;
    }
    page.blank();
    page.comment("Columns of the export that no part reads:");
    for column in rest.iter().take(MOST_UNUSED) {
        let example = column.examples.iter().find(|text| !text.is_empty());
        let example = match example {
            Some(_) if people::may_hold_people(column) => {
                "its cells could be people's names".to_owned()
            }
            Some(text) => format!("such as {}", shown(text)),
            None => "empty".to_owned(),
        };
        let why =
            if is_usable(&column.name, columns) { "" } else { ", not usable: no name of its own" };
        page.comment(&format!("  {}, {example}{why}", shown(&column.name)));
    }
    if rest.len() > MOST_UNUSED {
        page.comment(&format!("  and {} more", rest.len() - MOST_UNUSED));
    }
    if columns.len() > MOST_COLUMNS {
        page.comment(&format!("Only the first {MOST_COLUMNS} columns were looked at."));
    }
}
