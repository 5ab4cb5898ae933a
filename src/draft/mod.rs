//! A first map for a new export: `[[source]]` with its `[[source.record]]` parts, to be read by a
//! person and put into the settings.
//!
//! Proposes a canonical column for each export column from its name and its cells, codes for its
//! words, patterns for its times. The trade words of eight languages come from common practice.
//! Promises that what stands without a question is as clear as a name and its cells can make it,
//! that every other line carries a comment beginning with `# ?` with the question and its evidence,
//! that no column of the export disappears: those that no part reads are listed; and that no cell of a
//! column that may hold people's names is shown, and that it is masked unless its owner says otherwise. The same
//! profiles give the same text. Reads no file and checks nothing against later rows: intake does.

mod actions;
mod asked;
mod assign;
mod choice;
mod cleaned;
mod code;
mod durations;
mod fit;
mod fold;
mod name;
mod numbers;
mod page;
mod pair;
mod part;
mod parts;
mod people;
mod source;
mod texts;
mod times;
mod values;
mod vocabulary;
mod write;

use crate::settings::Dialect;
use crate::tabular::profile::ColumnProfile;

pub use asked::Asked;
pub use assign::assign;
pub use fit::holds_people;
pub use page::DraftDoubt;
pub use vocabulary::Vocabulary;

use numbers::Shared;
use page::{Page, shown};
use part::{Mapped, Part, is_read, part};
use parts::{MOST_COLUMNS, is_usable, parts};

/// A drafted map.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// Text for the settings, doubts in its comments.
    pub toml: String,
    /// The doubts, in the order of the text.
    pub doubts: Vec<DraftDoubt>,
}

/// Most columns without use that are listed.
const MOST_UNUSED: usize = 200;

/// Drafts the map of an export with these columns, written in this dialect.
pub fn draft(asked: &Asked, columns: &[ColumnProfile], dialect: &Dialect) -> Draft {
    let (plans, table) = parts(columns, asked);
    let mut parts: Vec<Part> = Vec::new();
    for plan in plans {
        let drafted = part(plan, parts.first(), asked);
        parts.push(drafted);
    }
    share_site(&mut parts);
    let mut page = Page::default();
    page.comment(&format!("Draft of a map for {}.", shown(&asked.file)));
    page.comment("Lines that begin with \"# ?\" ask what the file does not tell: answer each, then remove it.");
    let shared = Shared::of(dialect, &parts);
    source::source(&mut page, asked, dialect, shared, &parts);
    people::people(&mut page, columns, &parts);
    for (index, part) in parts.iter().enumerate() {
        write::record(&mut page, index, part, shared, table.as_ref().filter(|_| index == 0));
    }
    unused(&mut page, columns, &parts);
    let (toml, doubts) = page.finish();
    Draft { toml, doubts }
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
