//! The cleaning that stands on the row of the look after it (R2).

use super::asked::Asked;
use super::choice::Candidate;
use super::code::{Known, known};
use super::texts::{share, texts};
use crate::records::Table;
use crate::settings::Test;
use crate::tabular::profile::ColumnProfile;

/// A column of an inspection that says whether, or how, the end face was cleaned before.
#[derive(Clone, Debug)]
pub struct Cleaned<'p> {
    pub profile: &'p ColumnProfile,
    /// Which of its cells say that it was.
    pub when: Test,
    /// Whether its cells name the method; else they only say yes.
    pub names_method: bool,
}

/// Share of the words that must be known.
const KNOWN: f64 = 0.5;

/// The column among `candidates`, if the table is of inspections and has one.
pub fn cleaned<'p>(
    table: Table,
    candidates: &[Candidate<'p>],
    asked: &Asked,
) -> Option<Cleaned<'p>> {
    if table != Table::Inspections {
        return None;
    }
    let named = candidates.iter().filter(|one| one.name.means("cleaned_first").is_some());
    named.filter_map(|one| of(one.profile, asked)).next()
}

fn of<'p>(profile: &'p ColumnProfile, asked: &Asked) -> Option<Cleaned<'p>> {
    let methods = asked.allowed("method").unwrap_or_default();
    let words = texts(profile);
    let is_method = |word: &str| known("method", word, &methods) != Known::Unknown;
    let flag = |word: &str| match known("capped", word, &["yes", "no"]) {
        Known::Same => Some(word.to_owned()),
        Known::Sure(code) | Known::Likely(code, _) => Some(code),
        Known::Unknown => None,
    };
    profile.words.as_ref()?;
    let saying = |wanted: &str| -> Vec<String> {
        let saying = words.iter().filter(|(word, _)| flag(word).as_deref() == Some(wanted));
        saying.map(|(word, _)| (*word).to_owned()).collect()
    };
    let (yes, mut no) = (saying("yes"), saying("no"));
    no.extend(profile.nulls.iter().map(|(null, _)| null.clone()));
    no.retain(|word| !is_method(word));
    no.sort_unstable();
    no.dedup();
    if share(profile, |word| is_method(word) || no.iter().any(|no| no == word)) >= KNOWN
        && words.iter().any(|(word, _)| is_method(word))
    {
        let when = if no.is_empty() {
            Test::Given
        } else {
            no.insert(0, String::new());
            Test::NoneOf(no)
        };
        return Some(Cleaned { profile, when, names_method: true });
    }
    let says_yes = !yes.is_empty() && share(profile, |word| flag(word).is_some()) >= KNOWN;
    says_yes.then_some(Cleaned { profile, when: Test::OneOf(yes), names_method: false })
}
