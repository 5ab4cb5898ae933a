//! What the name of a column of money says: its currency, and what its numbers count.

use super::fold::squeezed;
use super::page::{Question, Standing, quoted, shown};
use crate::intake::{Said, has_sign, said};

/// A key of a column's numbers with its value and how sure that is.
pub type Line = (&'static str, String, Standing);

/// Words in the name of a column of money that say what its numbers count (common practice): as they are squeezed, those
/// with their accents that are another word without them.
const UNITS: [(&str, &[&str]); 2] = [
    (
        "minor",
        &[
            "cent",
            "cents",
            "ct",
            "cts",
            "centime",
            "centimes",
            "centesimi",
            "centesimo",
            "centavo",
            "centavos",
            "centimo",
            "centimos",
            "centy",
            "grosz",
            "grosze",
            "groszy",
            "pence",
            "öre",
            "øre",
            "haler",
            "halere",
            "haleru",
            "filler",
            "bani",
        ],
    ),
    (
        "thousand",
        &[
            "k",
            "ke",
            "kusd",
            "keur",
            "kgbp",
            "kchf",
            "kpln",
            "ksek",
            "knok",
            "kdkk",
            "kkr",
            "tkr",
            "teur",
            "tchf",
            "tsd",
            "tausend",
            "thousand",
            "thousands",
            "milliers",
            "millier",
            "miles",
            "mil",
            "mila",
            "migliaia",
            "milhar",
            "milhares",
            "duizend",
            "duizenden",
            "tys",
            "tysiace",
            "tysiecy",
            "tis",
            "tusen",
            "000",
            "1000",
        ],
    ),
];

/// Longest word in brackets that may be a unit, letters: longer ones say what was paid for.
const LONGEST_UNIT: usize = 4;

/// Words beside an amount that say nothing of what it counts.
const BESIDE_AMOUNTS: [&str; 24] = [
    "in", "en", "w", "of", "the", "net", "netto", "brutto", "gross", "ht", "ttc", "excl", "incl",
    "ohne", "mit", "inkl", "exkl", "vat", "mwst", "ust", "tva", "iva", "btw", "total",
];

/// What the name of a column says that its numbers count, and what is asked about it. `is_whole`: none has decimals.
pub fn units(name: &str, is_whole: bool) -> Vec<Line> {
    let mut lines = Vec::new();
    let bracketed: Vec<String> = bracketed(name).iter().map(|word| squeezed(word)).collect();
    for (unit, named) in UNITS {
        let Some(word) = name_words(name).find(|word| says_unit(word, unit, named)) else {
            continue;
        };
        let question = Question {
            question: format!("Are the amounts of {} in {}?", shown(name), shown(word)),
            evidence: "the name of the column".to_owned(),
        };
        // A unit in brackets is nothing else; cents have no decimals.
        let is_bracketed = bracketed.iter().any(|it| *it == squeezed(word));
        let is_sure = is_bracketed && (unit != "minor" || is_whole);
        let standing = if is_sure { Standing::Sure } else { Standing::Proposed(question) };
        lines.push(("unit", quoted(unit), standing));
    }
    if lines.is_empty() {
        lines.extend(unknown_unit(name));
    }
    lines
}

/// Whether a word of a name says that unit; `t` does where a sign of a currency stands beside it.
fn says_unit(word: &str, unit: &str, named: &[&str]) -> bool {
    let (plain, whole) = (squeezed(word), word.to_lowercase());
    let is_signed = word.chars().any(|c| !c.is_alphanumeric() && !c.is_ascii_punctuation());
    named.contains(&plain.as_str())
        || named.contains(&whole.trim_end_matches('.'))
        || unit == "thousand" && plain == "t" && is_signed
}

/// The words of a name that stand in brackets, as they are written.
fn bracketed(name: &str) -> Vec<&str> {
    let mut words = Vec::new();
    for part in name.split(['(', '[']).skip(1) {
        words.extend(name_words(part.split([')', ']']).next().unwrap_or_default()));
    }
    words
}

/// What is asked where a word in brackets is neither a currency nor a unit that the lists know.
fn unknown_unit(name: &str) -> Option<Line> {
    let is_known = |word: &str| {
        let plain = squeezed(word);
        plain.chars().count() > LONGEST_UNIT
            || plain.bytes().all(|byte| byte.is_ascii_digit())
            || matches!(said_of(word), Some(Said::Sign(_)))
            || is_code(word)
            || BESIDE_AMOUNTS.contains(&plain.as_str())
    };
    let word = bracketed(name).into_iter().find(|word| !is_known(word))?;
    let question = Question {
        question: format!(
            "Are the amounts of {} whole units of the currency? Else use {} (hundredths) or {}",
            shown(name),
            quoted("minor"),
            quoted("thousand")
        ),
        evidence: format!("{} stands in its name", shown(word)),
    };
    Some(("unit", quoted("major"), Standing::Proposed(question)))
}

/// The words of a column's name as they are written: signs of currencies and dots are parts of them.
pub fn name_words(name: &str) -> impl Iterator<Item = &str> {
    let separates = |c: char| c.is_whitespace() || "()[]_-/,".contains(c);
    name.split(separates).filter(|word| !word.is_empty())
}

/// What a word says of a currency, thousands beside a sign left out: `k€`, `£'000`.
pub fn said_of(word: &str) -> Option<Said> {
    let digits = |c: char| c.is_ascii_digit() || matches!(c, '\'' | '’' | '.');
    let bare = word.trim_start_matches(['k', 't', 'K', 'T']).trim_end_matches(digits);
    let of_bare = said(bare).filter(|found| matches!(found, Said::Sign(_)));
    match said(word) {
        Some(Said::Code(code)) if !has_sign(&code) => of_bare.or(Some(Said::Code(code))),
        found => found.or(of_bare),
    }
}

/// Whether a name says that its numbers are amounts of a currency.
pub fn names_currency(name: &str) -> bool {
    let is_sign = |word: &str| {
        let letters = word.bytes().all(|byte| byte.is_ascii_alphabetic());
        has_sign(word) || !letters && matches!(said_of(word), Some(Said::Sign(_)))
    };
    name_words(name).any(is_sign)
}

/// Whether a word is written as codes of currencies are.
fn is_code(word: &str) -> bool {
    let is_upper = word.len() == 3 && word.bytes().all(|byte| byte.is_ascii_uppercase());
    is_upper && !BESIDE_AMOUNTS.contains(&squeezed(word).as_str())
}

/// The currency that the name of a column says.
pub fn currency(name: &str) -> Option<Line> {
    let words: Vec<&str> = name_words(name).collect();
    if let Some(code) = words.iter().find(|word| has_sign(word)) {
        return Some(("currency", quoted(code), Standing::Sure));
    }
    if let Some(code) = bracketed(name).into_iter().find(|word| is_code(word)) {
        let question = Question {
            question: format!("Are the amounts of {} in {code}?", shown(name)),
            evidence: format!("{} stands in its name", shown(code)),
        };
        // Until somebody says so it is none: amounts of another currency need a rate.
        return Some(("currency", quoted(code), Standing::Open(question)));
    }
    let of_sign = |word: &str| match said_of(word) {
        Some(Said::Sign(codes)) => Some(codes),
        _ => None,
    };
    let (sign, codes) = words.iter().find_map(|word| match of_sign(word) {
        // Letters that are a sign somewhere are mostly something else in a name.
        Some(codes) if !word.chars().all(|c| c.is_ascii_alphabetic()) => Some((word, codes)),
        _ => None,
    })?;
    let first = codes.first()?;
    let standing = match codes.len() {
        1 => Standing::Sure,
        _ => Standing::Proposed(Question {
            question: format!("Are the amounts of {} in {first}?", shown(name)),
            evidence: format!("{} may stand for {}", shown(sign), codes.join(", ")),
        }),
    };
    Some(("currency", quoted(first), standing))
}
