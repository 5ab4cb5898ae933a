//! A log of actions: one column says what each row is.

use super::choice::Candidate;
use super::fold::squeezed;
use super::page::{Question, shown};
use super::vocabulary::Vocabulary;
use crate::records::Table;
use crate::tabular::profile::ColumnProfile;

/// The column that tells the rows of several tables apart.
#[derive(Clone, Debug)]
pub struct Action {
    pub column: String,
    /// Tables with their words, the table that was asked for first.
    pub words: Vec<(Table, Vec<String>)>,
    /// Words that belong to no table.
    pub questions: Vec<Question>,
}

/// Most different words of such a column.
const MOST_WORDS: usize = 40;
/// Share of its cells whose word must be known.
const KNOWN: f64 = 0.5;

/// The first such column: words of at least two tables, of the asked one among them.
pub fn action(candidates: &[Candidate], asked: Option<Table>) -> Option<Action> {
    candidates.iter().find_map(|candidate| of(candidate.profile, asked))
}

fn of(profile: &ColumnProfile, asked: Option<Table>) -> Option<Action> {
    let words = profile.words.as_ref().filter(|words| words.len() <= MOST_WORDS)?;
    let words: Vec<&(String, usize)> = words.iter().filter(|(word, _)| !word.is_empty()).collect();
    let table_of = |word: &str| -> Option<Table> {
        let meanings = Vocabulary::get().word("action", &squeezed(word));
        match meanings {
            [meaning] => Table::named(meaning.of),
            _ => None,
        }
    };
    let mut tables: Vec<(Table, Vec<String>)> = Vec::new();
    let (mut known, mut all) = (0, 0);
    for (word, count) in &words {
        all += count;
        let Some(table) = table_of(word) else { continue };
        known += count;
        match tables.iter_mut().find(|(other, _)| *other == table) {
            Some((_, words)) => words.push(word.clone()),
            None => tables.push((table, vec![word.clone()])),
        }
    }
    let has_asked = asked.is_none_or(|asked| tables.iter().any(|(table, _)| *table == asked));
    let covered = profile.cells > 0 && known as f64 >= KNOWN * profile.cells as f64;
    if tables.len() < 2 || !has_asked || !covered {
        return None;
    }
    tables.sort_by_key(|(table, _)| (Some(*table) != asked, *table));
    let unknown = words.iter().filter(|(word, _)| table_of(word).is_none());
    let questions = unknown.map(|(word, count)| Question {
        question: format!(
            "What is a row whose column {} holds {}? No part takes it",
            shown(&profile.name),
            shown(word)
        ),
        evidence: format!("{count} of {all} rows"),
    });
    Some(Action { column: profile.name.clone(), words: tables, questions: questions.collect() })
}
