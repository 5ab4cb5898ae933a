//! A cleaning with the look before and the look after it on one row.

use super::asked::Asked;
use super::choice::Candidate;
use super::fit::share_known;
use super::name::Name;
use super::page::shown;
use super::plan::Plan;
use super::vocabulary::{Token, Vocabulary};
use crate::records::Table;
use crate::settings::{Test, When};

/// Share of the cells whose word must be a result.
const KNOWN: f64 = 0.5;

/// Names for what such columns hold, whatever they are called.
const RESULT: &str = "result";
const METHOD: &str = "method";

/// The two columns of results.
struct Around {
    before: String,
    after: String,
}

/// The three parts of such rows, if two columns hold results of before and after: look, cleaning, look. `blank` is a
/// plan of inspections without candidates.
pub fn around<'p>(
    blank: &Plan<'p>,
    candidates: &[Candidate<'p>],
    asked: &Asked,
) -> Option<Vec<Plan<'p>>> {
    let found = Around {
        before: result(Token::Before, candidates, asked)?.profile.name.clone(),
        after: result(Token::After, candidates, asked)?.profile.name.clone(),
    };
    let side = |kind: Token, other: Token| -> Vec<Candidate<'p>> {
        let own = candidates.iter().filter(|one| !one.name.has(other) && !is_method(one));
        let is_result = |one: &Candidate| {
            [&found.before, &found.after].into_iter().any(|name| *name == one.profile.name)
        };
        own.map(|one| Candidate {
            profile: one.profile,
            name: if is_result(one) { Name::of(RESULT) } else { plain(&one.name, kind) },
        })
        .collect()
    };
    let method = candidates.iter().find(|one| is_method(one) && !is_either(&one.name));
    let cleaned = method.map_or(&found.after, |method| &method.profile.name).clone();
    let look =
        |kind, other, column: &str, record: &'static str, seq: &'static str, why: &str| Plan {
            when: Some(When { column: column.to_owned(), is: Test::Given }),
            why: Some(format!("the column {} holds the look {why} the cleaning", shown(column))),
            candidates: side(kind, other),
            record_ends: Some(record),
            seq: Some(seq),
            ..blank.clone()
        };
    let cleaning = Plan {
        table: Table::Cleanings,
        when: Some(When { column: cleaned.clone(), is: Test::Given }),
        why: Some(format!("the column {} says that there was a cleaning", shown(&cleaned))),
        candidates: candidates
            .iter()
            .filter(|one| !is_either(&one.name))
            .map(|one| match share_known(one.profile, "method", asked) >= KNOWN && is_method(one) {
                true => Candidate { profile: one.profile, name: Name::of(METHOD) },
                false => one.clone(),
            })
            .collect(),
        seq: Some("2"),
        ..blank.clone()
    };
    Some(vec![
        look(Token::Before, Token::After, &found.before, "before", "1", "before"),
        cleaning,
        look(Token::After, Token::Before, &found.after, "after", "3", "after"),
    ])
}

fn is_either(name: &Name) -> bool {
    name.has(Token::Before) || name.has(Token::After)
}

fn is_method(one: &Candidate) -> bool {
    one.name.means("method").is_some() || one.name.means("cleaned_first").is_some()
}

/// The name without the words for before and after, for cleaning and for looking.
fn plain(name: &Name, kind: Token) -> Name {
    if !name.has(kind) {
        return name.clone();
    }
    let vocabulary = Vocabulary::get();
    let of_work = |token: &str| {
        let meanings = vocabulary.word("action", token);
        meanings.iter().any(|meaning| matches!(meaning.of, "cleanings" | "inspections"))
    };
    let rest = name.tokens().iter().filter(|token| {
        !vocabulary.is(token, kind) && !vocabulary.is(token, Token::Stop) && !of_work(token)
    });
    let rest: Vec<String> = rest.cloned().collect();
    Name::of(&rest.join(" "))
}

/// The column of results of that side.
fn result<'c, 'p>(
    kind: Token,
    candidates: &'c [Candidate<'p>],
    asked: &Asked,
) -> Option<&'c Candidate<'p>> {
    candidates.iter().find(|one| {
        let name = plain(&one.name, kind);
        one.name.has(kind)
            && (name.means("outcome").is_some() || name.tokens().is_empty())
            && share_known(one.profile, "outcome", asked) >= KNOWN
    })
}
