//! The codes that the words of a coded column stand for.

use super::asked::Asked;
use super::code::{Known, known};
use super::page::{Question, Standing, UNKNOWN, one_of, shown};
use super::texts::texts;
use crate::records::{Column, Kind};
use crate::tabular::profile::ColumnProfile;

/// One word and its code.
#[derive(Clone, Debug)]
pub struct Value {
    pub word: String,
    pub code: String,
    pub standing: Standing,
}

/// Most words that are asked about one by one.
const MOST_ASKED: usize = 40;

/// The words of `profile` that are no codes of `column`, most frequent first; none where any word
/// is taken.
pub fn values(column: &Column, profile: &ColumnProfile, asked: &Asked) -> Vec<Value> {
    let (Some(codes), Some(words)) = (asked.codes_of(column), &profile.words) else {
        return Vec::new();
    };
    let extra =
        profile.nulls.iter().filter(|(null, _)| !words.iter().any(|(word, _)| word == null));
    let all = words.iter().chain(extra).filter(|(word, _)| !word.is_empty());
    all.filter_map(|(word, count)| value(column, profile, asked, &codes, word, *count)).collect()
}

/// What becomes of one word; none if it is a code already.
fn value(
    column: &Column,
    profile: &ColumnProfile,
    of: &Asked,
    codes: &[&str],
    word: &str,
    count: usize,
) -> Option<Value> {
    if let Some(code) = of.remembered.code(column.name, word)
        && (code.is_empty() || codes.contains(&code))
    {
        let standing = Standing::Sure;
        return Some(Value { word: word.to_owned(), code: code.to_owned(), standing });
    }
    let is_null = profile.nulls.iter().any(|(null, _)| null == word);
    let cells = format!("{count} of {} cells of column {}", profile.cells, shown(&profile.name));
    let asked = |question: String, evidence: String| Question { question, evidence };
    let word_shown = shown(word);
    let (code, standing) = match known(column.name, word, codes) {
        Known::Same => return None,
        Known::Unknown if is_null && !column.required => {
            let what = format!("Does {word_shown} mean \"not given\"?");
            (String::new(), Standing::Proposed(asked(what, cells)))
        }
        Known::Sure(code) | Known::Likely(code, _) if is_null => {
            let what = format!("Does {word_shown} mean this, or \"not given\"?");
            (code, Standing::Proposed(asked(what, cells)))
        }
        Known::Sure(code) => (code, Standing::Sure),
        Known::Likely(code, _) if is_bit(column, profile) => (code, Standing::Sure),
        Known::Likely(code, why) => {
            let what = format!("Does {word_shown} mean this?");
            (code, Standing::Proposed(asked(what, format!("{why}; {cells}"))))
        }
        Known::Unknown => {
            let what = format!("What does {word_shown} mean?{}", one_of(codes));
            (UNKNOWN.to_owned(), Standing::Open(asked(what, cells)))
        }
    };
    Some(Value { word: word.to_owned(), code, standing })
}

/// Whether it holds 0 and 1 where there are only yes and no, and nothing else.
fn is_bit(column: &Column, profile: &ColumnProfile) -> bool {
    let texts = texts(profile);
    column.kind == Kind::Flag
        && texts.len() == 2
        && texts.iter().all(|(text, _)| matches!(*text, "0" | "1"))
}

/// Whether there are more open words than are worth a line each; then the rest of them is left out
/// and told in one question.
pub fn cut(values: &mut Vec<Value>, profile: &ColumnProfile) -> Option<Question> {
    let is_open = |value: &Value| matches!(value.standing, Standing::Open(_));
    let open = values.iter().filter(|value| is_open(value)).count();
    if open <= MOST_ASKED {
        return None;
    }
    let mut seen = 0;
    values.retain(|value| {
        seen += usize::from(is_open(value));
        !is_open(value) || seen <= MOST_ASKED
    });
    Some(Question {
        question: format!(
            "Is column {} the right one? {} more of its words are no codes",
            shown(&profile.name),
            open - MOST_ASKED
        ),
        evidence: format!("{} different words", profile.distinct),
    })
}
