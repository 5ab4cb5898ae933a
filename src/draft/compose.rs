//! End faces that are named by several columns: rack, panel and port.

use super::asked::Asked;
use super::choice::Candidate;
use super::ends::END_FACES;
use super::mapped::Mapped;
use super::name::Name;
use super::page::{Question, Standing, shown};
use super::vocabulary::{Token, Vocabulary};
use crate::records::Table;

/// Puts the columns of places before a name that does not tell end faces apart without them.
pub fn compose<'p>(mapped: &mut Mapped<'p>, table: Table, unused: &[Candidate<'p>], asked: &Asked) {
    if !END_FACES.contains(&mapped.column.name) || mapped.names.len() != 1 {
        return;
    }
    let own = mapped.names[0].clone();
    let at_hand: Vec<&str> =
        unused.iter().map(|one| one.profile.name.as_str()).chain([own.as_str()]).collect();
    if let Some(known) = asked.remembered.parts_of(table, mapped.column.name, &at_hand) {
        (mapped.names, mapped.form) = (known.names.clone(), known.form.clone());
        mapped.standing = Standing::Sure;
        return;
    }
    let end = beside_words(Name::of(&own).tokens());
    let is_place = |one: &&Candidate| {
        let tokens = one.name.tokens();
        let vocabulary = Vocabulary::get();
        let places = tokens.iter().filter(|token| vocabulary.is(token, Token::Place)).count();
        places > 0 && beside_words(tokens).iter().all(|token| end.contains(token))
    };
    let places: Vec<&str> =
        unused.iter().filter(is_place).map(|one| one.profile.name.as_str()).collect();
    let all: Vec<&str> = places.iter().copied().chain([own.as_str()]).collect();
    // No form can name a column with braces.
    if places.is_empty() || all.iter().any(|name| name.contains(['{', '}'])) {
        return;
    }
    let (rows, alone) = asked.rows.distinct(&[&own]);
    let (_, together) = asked.rows.distinct(&all);
    // Bare numbers are of a panel, even where those at hand happen to be of one panel each.
    let bare = asked.rows.of(&[&own]).iter().all(|row| row[0].bytes().all(|b| b.is_ascii_digit()));
    if asked.rows.tell() && together <= alone && !bare {
        return;
    }
    let evidence = match asked.rows.tell() {
        true => format!(
            "{} alone names {alone} end faces in {rows} rows, together {together}",
            shown(&own)
        ),
        false => format!("{} may repeat in each of them", shown(&own)),
    };
    let listed: Vec<String> = places.iter().map(|name| shown(name)).collect();
    let question = format!(
        "Is an end face named by {} and {} together? Else only by {}",
        listed.join(", "),
        shown(&own),
        shown(&own)
    );
    let pieces: Vec<String> = all.iter().map(|name| format!("{{{name}}}")).collect();
    mapped.form = Some(pieces.join("-"));
    mapped.names = all.into_iter().map(str::to_owned).collect();
    mapped.standing = Standing::Proposed(Question { question, evidence });
}

/// What stands in a name beside places, numbers of things and small words.
fn beside_words(tokens: &[String]) -> Vec<String> {
    let vocabulary = Vocabulary::get();
    let small = [Token::Place, Token::Id, Token::Label, Token::Stop, Token::Port];
    let is_small = |token: &&String| small.iter().any(|kind| vocabulary.is(token, *kind));
    tokens.iter().filter(|token| !is_small(token)).cloned().collect()
}
