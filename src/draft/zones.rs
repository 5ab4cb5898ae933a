//! A column a zone, each with its own result.

use super::asked::Asked;
use super::choice::Candidate;
use super::fit::share_known;
use super::fold::squeezed;
use super::values::{Value, values};
use super::vocabulary::Vocabulary;
use crate::records::{Column, Table, columns};

/// Zones of a part.
#[derive(Clone, Debug)]
pub struct Zones {
    /// Zone and export column, the innermost first.
    pub columns: Vec<(String, String)>,
    /// What the words of their cells mean.
    pub values: Vec<Value>,
}

/// Fewest columns that are zones of one look.
const LEAST: usize = 2;
/// Share of the cells whose word must be a result.
const KNOWN: f64 = 0.9;

/// The zones among the columns of inspections, if there are several.
pub fn zones(table: Table, candidates: &[Candidate], asked: &Asked) -> Option<Zones> {
    let outcome = outcome(table)?;
    let allowed = asked.allowed("zone")?;
    let mut found: Vec<(String, &Candidate)> = Vec::new();
    for zone in &allowed {
        let mut named = candidates.iter().filter(|one| {
            zone_of(&one.profile.name, &allowed).as_deref() == Some(*zone)
                && holds_results(one, asked)
        });
        if let Some(one) = named.next() {
            found.push(((*zone).to_owned(), one));
        }
    }
    if found.len() < LEAST {
        return None;
    }
    let mut words: Vec<Value> = Vec::new();
    for value in found.iter().flat_map(|(_, one)| values(outcome, one.profile, asked)) {
        if !words.iter().any(|known| known.word == value.word) {
            words.push(value);
        }
    }
    let columns = found.into_iter().map(|(zone, one)| (zone, one.profile.name.clone())).collect();
    Some(Zones { columns, values: words })
}

fn outcome(table: Table) -> Option<&'static Column> {
    columns(table).iter().find(|column| column.name == "outcome")
}

/// The zone that a column's name is a word for; one letter alone is none without the word.
fn zone_of(name: &str, allowed: &[&str]) -> Option<String> {
    let squeezed = squeezed(name);
    let plain = squeezed.chars().count() > 1;
    let meanings = Vocabulary::get().word("zone", &squeezed);
    let meaning = meanings.iter().find(|meaning| allowed.contains(&meaning.of))?;
    plain.then(|| meaning.of.to_owned())
}

fn holds_results(one: &Candidate, asked: &Asked) -> bool {
    one.profile.words.is_some() && share_known(one.profile, "outcome", asked) >= KNOWN
}
