//! What a word in a coded column means: which code of the list.

use super::fold::{alike, squeezed, word_tokens};
use super::vocabulary::{Token, Vocabulary};

/// What a word was found to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Known {
    /// The code itself: nothing to map.
    Same,
    /// A word of the trade for it.
    Sure(String),
    /// Probably it, and why.
    Likely(String, &'static str),
    Unknown,
}

/// Shortest word that can be a misspelling.
const LEAST_LIKE: usize = 5;
/// Likeness from which a word counts as a misspelled one.
const LIKE: f64 = 0.84;
/// Longest word that can be an abbreviation.
const LONGEST_INITIALS: usize = 3;
/// Lists of which a word inside a longer text says what is meant.
const IN_PARTS: [&str; 4] = ["stage", "cause", "remedy", "method"];
/// What may stand beside a family without changing it.
const BESIDE_FAMILY: [&str; 10] =
    ["upc", "apc", "pc", "duplex", "simplex", "sm", "mm", "dx", "sx", "connector"];

/// The word list of a canonical column.
pub fn list_name(column: &str) -> &str {
    match column {
        "side_a" | "side_b" => "side",
        "found_stage" => "stage",
        other => other,
    }
}

/// What `word` means in a canonical column whose codes are `allowed`.
pub fn known(column: &str, word: &str, allowed: &[&str]) -> Known {
    if allowed.contains(&word) {
        return Known::Same;
    }
    let column = list_name(column);
    let plain = squeezed(word);
    if plain.is_empty() {
        return Known::Unknown;
    }
    let found = listed(column, &plain, allowed);
    if found != Known::Unknown {
        return found;
    }
    let behind = without_number(word);
    match behind.map_or(Known::Unknown, |rest| listed(column, &rest, allowed)) {
        Known::Unknown => guessed(column, word, &plain, allowed),
        found => found,
    }
}

/// By the list itself and by the trade words.
fn listed(column: &str, plain: &str, allowed: &[&str]) -> Known {
    if let Some(code) = allowed.iter().find(|code| squeezed(code) == plain) {
        return Known::Sure((*code).to_owned());
    }
    let meanings: Vec<_> = Vocabulary::get()
        .word(column, plain)
        .iter()
        .filter(|meaning| allowed.contains(&meaning.of))
        .collect();
    match meanings.as_slice() {
        [] => Known::Unknown,
        [one] if !one.weak => Known::Sure(one.of.to_owned()),
        [one] => Known::Likely(one.of.to_owned(), "it is used for this, and for other things"),
        [first, ..] => Known::Likely(first.of.to_owned(), "it is used for other codes too"),
    }
}

/// What stands behind a leading code number, as in `C10 dirt`.
fn without_number(word: &str) -> Option<String> {
    let tokens = word_tokens(word);
    let (first, rest) = tokens.split_first()?;
    let numbered = first.chars().any(|c| c.is_ascii_digit()) && first.len() <= 5;
    (numbered && !rest.is_empty()).then(|| rest.concat())
}

fn guessed(column: &str, word: &str, plain: &str, allowed: &[&str]) -> Known {
    let likely = |code: &str, why| Known::Likely(code.to_owned(), why);
    if column == "family"
        && let Some(code) = inside(word, allowed)
    {
        return likely(code, "it contains this");
    }
    // One letter is no name of a site.
    let abbreviated =
        if column == "site" && plain.len() < 2 { None } else { abbreviated(word, allowed) };
    if let Some(code) = abbreviated {
        return likely(code, "of the codes it abbreviates only this");
    }
    if let Some(code) = in_part(column, word, allowed) {
        return likely(&code, "a part of it means this, and nothing else of it means another");
    }
    let near = |known: &str| alike(known, plain, LIKE);
    if plain.len() < LEAST_LIKE {
        return Known::Unknown;
    }
    if let Some(code) = allowed.iter().find(|code| near(&squeezed(code))) {
        return likely(code, "it is nearly written so");
    }
    let mut words = Vocabulary::get().words(column);
    let meant = words.find_map(|(known, meanings)| {
        let code = meanings.iter().find(|meaning| allowed.contains(&meaning.of))?;
        near(known).then_some(code.of)
    });
    meant.map_or(Known::Unknown, |code| likely(code, "it is nearly a word for this"))
}

/// The one code that single words of a longer text mean, none of them taking it back.
fn in_part(column: &str, word: &str, allowed: &[&str]) -> Option<String> {
    let words = word_tokens(word);
    let taken_back = words.iter().any(|word| Vocabulary::get().is(word, Token::Not));
    if words.len() < 2 || taken_back || !IN_PARTS.contains(&column) {
        return None;
    }
    let mut codes = words.iter().filter_map(|word| match listed(column, word, allowed) {
        Known::Sure(code) => Some(code),
        _ => None,
    });
    let code = codes.next()?;
    codes.all(|other| other == code).then_some(code)
}

/// The one code among the word's parts.
fn inside<'c>(word: &str, allowed: &[&'c str]) -> Option<&'c str> {
    let parts = word_tokens(word);
    let is_code = |part: &String| allowed.iter().find(|code| squeezed(code) == **part);
    let mut codes = parts.iter().filter_map(is_code);
    let code = codes.next()?;
    let small = |part: &String| {
        BESIDE_FAMILY.contains(&part.as_str()) || part.chars().all(|c| c.is_ascii_digit())
    };
    let rest = parts.iter().all(|part| small(part) || is_code(part).is_some());
    (codes.next().is_none() && rest).then_some(*code)
}

/// The only code that a word of few capital letters abbreviates: its letters come in that order,
/// beginning with the first.
fn abbreviated<'c>(word: &str, allowed: &[&'c str]) -> Option<&'c str> {
    let short = word.chars().count() <= LONGEST_INITIALS;
    if !short || !word.chars().all(char::is_uppercase) {
        return None;
    }
    let letters = squeezed(word);
    let fits = |code: &str| {
        let whole = squeezed(code);
        let mut rest = whole.chars();
        let first = whole.chars().next() == letters.chars().next();
        first && letters.chars().all(|letter| rest.any(|other| other == letter))
    };
    let mut codes = allowed.iter().filter(|code| fits(code));
    let code = codes.next()?;
    codes.next().is_none().then_some(*code)
}
