//! What a draft is asked for.

use std::collections::BTreeMap;

use super::code::list_name;
use super::ends::END_FACES;
use super::page::{Standing, one_or_many};
use super::rows::SampleRows;
use crate::records::{Column, Kind, Table};
use crate::settings::{Codes, Piece, Plan, Stages, allowed};

/// A request for a draft.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The export, as its source's glob will name it.
    pub file: String,
    /// Name of the source to draft.
    pub source_name: String,
    /// What its rows are; none: to be guessed.
    pub table: Option<Table>,
    /// The one site of its rows, if it is known.
    pub site: Option<String>,
    /// Sites of the fleet; empty: any name is taken.
    pub sites: Vec<String>,
    /// Stages of the fleet.
    pub stages: Stages,
    /// Code lists of the fleet.
    pub codes: Codes,
    /// Rows of the export, to see what columns say together; none: nothing is taken from that.
    pub rows: SampleRows,
    /// Why its encoding is a guess, if it is one.
    pub guessed_encoding: Option<String>,
    /// What all exports of the fleet together say; none where one is drafted by itself.
    pub fleet: Option<FleetFacts>,
    /// What was answered for earlier exports.
    pub remembered: Remembered,
}

/// Export columns that name an end face together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Composed {
    /// Their names.
    pub names: Vec<String>,
    /// How the name is written; none: joined by blanks.
    pub form: Option<String>,
}

/// What the maps of a fleet say already; nothing that a question is still open about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remembered {
    /// Table and name of an export column -> canonical columns that it fills.
    pub columns: BTreeMap<(Table, String), Vec<String>>,
    /// Table and canonical column of an end face -> export columns that name it together, with the form of the name.
    pub composed: BTreeMap<(Table, String), Vec<Composed>>,
    /// Canonical column and word -> code.
    pub words: BTreeMap<(String, String), String>,
}

impl Remembered {
    /// Of the sources of these settings. What two of them say differently is not remembered.
    pub fn of(plan: &Plan) -> Self {
        let mut remembered = Self::default();
        let mut differ: Vec<(String, String)> = Vec::new();
        let records = plan
            .sources
            .iter()
            .flat_map(|source| source.records.iter().map(move |one| (source, one)));
        for (source, record) in records {
            for (column, names) in &record.columns {
                if is_open(plan, column, &one_or_many(names)) {
                    continue;
                }
                if let [name] = names.as_slice() {
                    let known = remembered.columns.entry((record.table, name.clone())).or_default();
                    if !known.contains(column) {
                        known.push(column.clone());
                    }
                } else if END_FACES.contains(&column.as_str()) {
                    let form = record.forms.get(column).map(|form| written(form));
                    let key = (record.table, column.clone());
                    let composed = Composed { names: names.clone(), form };
                    remembered.composed.entry(key).or_default().push(composed);
                }
            }
            for (column, codes) in &record.values {
                for (word, code) in codes {
                    let key = (list_name(column).to_owned(), word.clone());
                    if is_asked(plan, &format!("{} {word}", key.0), &source.name) {
                        differ.push(key);
                        continue;
                    }
                    let known = remembered.words.entry(key.clone()).or_insert_with(|| code.clone());
                    if known != code {
                        differ.push(key);
                    }
                }
            }
        }
        remembered.words.retain(|key, _| !differ.contains(key));
        remembered
    }

    /// The code that a word stands for.
    pub fn code(&self, column: &str, word: &str) -> Option<&str> {
        let key = (list_name(column).to_owned(), word.to_owned());
        self.words.get(&key).map(String::as_str)
    }

    /// Whether an export column of that name fills a canonical one.
    pub fn fills(&self, table: Table, name: &str, column: &str) -> bool {
        let key = (table, name.to_owned());
        self.columns.get(&key).is_some_and(|known| known.iter().any(|one| one == column))
    }

    /// The export columns that name such an end face together, all of which are among `names`, and the form of the name.
    pub fn parts_of(&self, table: Table, column: &str, names: &[&str]) -> Option<&Composed> {
        let known = self.composed.get(&(table, column.to_owned()))?;
        known.iter().find(|one| one.names.iter().all(|part| names.contains(&part.as_str())))
    }
}

/// A form as the settings write it.
fn written(form: &[Piece]) -> String {
    let text = |piece: &Piece| match piece {
        Piece::Text(text) => text.clone(),
        Piece::Column(name) => format!("{{{name}}}"),
    };
    form.iter().map(text).collect()
}

/// Answers that nobody has confirmed yet, keys with what stands there.
pub fn open_answers(plan: &Plan) -> impl Iterator<Item = &(String, String)> {
    plan.open.iter().flat_map(|open| &open.answers)
}

/// Whether a question is open whose answer is this value of this key, whatever source it is of.
fn is_open(plan: &Plan, key: &str, value: &str) -> bool {
    open_answers(plan).any(|(known, now)| {
        now == value && known.strip_suffix(key).is_some_and(|rest| rest.ends_with(' '))
    })
}

/// Whether a question with an answer of this key is open, of all sources or of this one.
fn is_asked(plan: &Plan, key: &str, source: &str) -> bool {
    open_answers(plan).any(|(known, _)| known == key || *known == format!("{source} {key}"))
}

/// What all exports of a fleet together say of one of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FleetFacts {
    /// Its files, as globs.
    pub files: Vec<String>,
    /// Where an end-face name is unique, `fleet` or `site`, and how sure that is.
    pub end_face_names: (&'static str, Standing),
    /// The site that its rows are likely from, and how sure that is; none where a column says it.
    pub site: Option<(String, Standing)>,
}

impl Asked {
    /// The words that a canonical column may hold, none where any word is taken.
    pub fn allowed(&self, column: &str) -> Option<Vec<&str>> {
        allowed(column, &self.sites, &self.stages, &self.codes)
    }

    /// The words that the cells of a canonical column have to be mapped to, if any.
    pub fn codes_of(&self, column: &Column) -> Option<Vec<&str>> {
        match column.kind {
            Kind::Flag => Some(vec!["yes", "no"]),
            Kind::Code => self.allowed(column.name),
            _ => None,
        }
    }
}
