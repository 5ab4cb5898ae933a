//! How the numbers of the mapped columns are written: what the whole file shares, and what one column has for itself.

use super::fold::squeezed;
use super::mapped::{Mapped, Part};
use super::name::Name;
use super::page::{Page, Question, Standing, quoted, shown};
use crate::intake::{Said, has_sign, said};
use crate::records::Kind;
use crate::settings::{Dialect, Thousands};
use crate::tabular::profile::Guess;

/// Words in the name of a column of money, in any case, that say what its numbers count.
const UNITS: [(&str, &[&str]); 2] = [
    (
        "minor",
        &[
            "cent",
            "cents",
            "ct",
            "cts",
            "centimes",
            "centesimi",
            "centavos",
            "centy",
            "grosze",
            "pence",
            "öre",
            "øre",
            "haléře",
        ],
    ),
    (
        "thousand",
        &[
            "k€",
            "k$",
            "k£",
            "t€",
            "keur",
            "kusd",
            "kgbp",
            "kchf",
            "teur",
            "tsd",
            "thousand",
            "thousands",
        ],
    ),
];

/// Amounts of faults of which the largest is this or more are perhaps hundredths, where they are whole and nothing names
/// their unit: few faults cost ten thousand, most a hundred.
const LARGE: i64 = 10_000;

/// The mark and the separator that the mapped numbers share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shared {
    pub decimal_mark: u8,
    pub thousands: Option<Thousands>,
}

fn numbers<'a, 'p>(parts: &'a [Part<'p>]) -> impl Iterator<Item = &'a Mapped<'p>> {
    let mapped = parts.iter().flat_map(|part| &part.mapped);
    let is_number =
        |one: &&Mapped| matches!(one.column.kind, Kind::Integer | Kind::Minutes | Kind::Money);
    // Amounts first: they show most of how numbers are written.
    let (money, counts): (Vec<_>, Vec<_>) =
        mapped.filter(is_number).partition(|one| one.column.kind == Kind::Money);
    money.into_iter().chain(counts)
}

impl Shared {
    /// Of the mapped columns, else of the dialect.
    pub fn of(dialect: &Dialect, parts: &[Part]) -> Shared {
        let mark = |one: &Mapped| match (one.profile.numbers.mark, one.profile.kind) {
            (Some(mark), _) => Some(mark),
            (None, Guess::Decimal { mark })
                if matches!(one.column.kind, Kind::Money | Kind::Minutes) =>
            {
                Some(mark)
            }
            _ => None,
        };
        let thousands = numbers(parts).find_map(|one| one.profile.numbers.thousands.as_ref());
        let thousands = thousands.map(|(thousands, _)| *thousands);
        // The mark that a separator leaves, where no number has decimals.
        let other = match thousands {
            Some(Thousands::Dot) => Some(b','),
            Some(Thousands::Comma) => Some(b'.'),
            _ => None,
        };
        let found = numbers(parts).find_map(mark).or(other);
        Shared { decimal_mark: found.unwrap_or(dialect.decimal_mark), thousands }
    }
}

/// The separator of thousands, with the question where nothing settles it.
pub fn thousands(page: &mut Page, shared: Shared, parts: &[Part]) {
    if let Some(thousands) = shared.thousands {
        return page.line("thousands", &quoted(thousands.text()), &Standing::Sure, None);
    }
    let open = |one: &&Mapped| one.profile.numbers.open.is_some();
    let Some(one) = numbers(parts).find(open) else { return };
    let Some((thousands, example)) = &one.profile.numbers.open else { return };
    let (name, example) = (shown(&one.profile.name), shown(example));
    let question = Question {
        question: format!(
            "Does {} separate thousands in column {name}? Then this line is needed; without it, it is the decimal mark",
            quoted(thousands.text())
        ),
        evidence: format!("it holds {example}: three digits follow the mark each time"),
    };
    page.line("thousands", &quoted(thousands.text()), &Standing::Open(question), None);
}

/// The keys that single columns have for themselves.
pub fn of_columns(page: &mut Page, shared: Shared, part: &Part, path: &str) {
    for one in numbers(std::slice::from_ref(part)) {
        // Keys of a column that is not mapped are an error in the settings.
        let mut lines = lines(shared, one);
        // Of settings for a whole folder the currency is asked once, of the fleet.
        let is_asked = |standing: &Standing| matches!(standing, Standing::Proposed(_));
        let is_lifting = page.is_lifting();
        lines
            .retain(|(key, _, standing)| !(is_lifting && *key == "currency" && is_asked(standing)));
        if lines.is_empty() || matches!(one.standing, Standing::Open(_)) {
            continue;
        }
        let name = one.column.name;
        page.section(&format!("[source.record.numbers.{name}]"), &format!("{path}.numbers.{name}"));
        for (key, value, standing) in lines {
            page.line(key, &value, &standing, None);
        }
    }
}

fn lines(shared: Shared, one: &Mapped) -> Vec<(&'static str, String, Standing)> {
    let mut lines = Vec::new();
    let own = &one.profile.numbers;
    if let Some(mark) = own.mark.filter(|mark| *mark != shared.decimal_mark) {
        lines.push(("decimal_mark", quoted(&char::from(mark).to_string()), Standing::Sure));
    }
    if let Some((thousands, _)) =
        own.thousands.as_ref().filter(|(own, _)| Some(*own) != shared.thousands)
    {
        lines.push(("thousands", quoted(thousands.text()), Standing::Sure));
    }
    if one.column.kind != Kind::Money {
        return lines;
    }
    let name = &one.profile.name;
    let words: Vec<&str> = name_words(name).collect();
    for (unit, named) in UNITS {
        let is_named = |word: &&&str| named.contains(&word.to_lowercase().trim_end_matches('.'));
        if let Some(word) = words.iter().find(is_named) {
            let question = Question {
                question: format!("Are the amounts of {} in {}?", shown(name), shown(word)),
                evidence: "the name of the column".to_owned(),
            };
            // A unit in brackets is nothing else; cents have no decimals.
            let bracketed = Name::of(name).beside().iter().any(|it| squeezed(it) == squeezed(word));
            let is_sure = bracketed && (unit != "minor" || one.profile.kind == Guess::Integer);
            let standing = if is_sure { Standing::Sure } else { Standing::Proposed(question) };
            lines.push(("unit", quoted(unit), standing));
        }
    }
    let currency = currency(&words, name);
    if lines.iter().all(|(key, ..)| *key != "unit") && currency.is_none() {
        lines.extend(whole_unit(one));
    }
    lines.extend(currency);
    lines
}

/// The unit of bare whole amounts so large that they may be hundredths.
fn whole_unit(one: &Mapped) -> Option<(&'static str, String, Standing)> {
    let largest = one.profile.numbers.largest.filter(|largest| *largest >= LARGE)?;
    let question = Question {
        question: format!(
            "Are the amounts of {} whole units of the currency? Else use {} (hundredths)",
            shown(&one.profile.name),
            quoted("minor")
        ),
        evidence: format!("no name says it; they are whole, the largest is {largest}"),
    };
    (one.profile.kind == Guess::Integer)
        .then(|| ("unit", quoted("major"), Standing::Proposed(question)))
}

/// The words of a column's name as they are written: signs of currencies and dots are parts of them.
pub fn name_words(name: &str) -> impl Iterator<Item = &str> {
    let separates = |c: char| c.is_whitespace() || "()[]_-/,".contains(c);
    name.split(separates).filter(|word| !word.is_empty())
}

/// The currency that the name of a column says.
fn currency(words: &[&str], name: &str) -> Option<(&'static str, String, Standing)> {
    if let Some(code) = words.iter().find(|word| has_sign(word)) {
        return Some(("currency", quoted(code), Standing::Sure));
    }
    let of_sign = |word: &str| match said(word.trim_start_matches(['k', 't', 'K', 'T'])) {
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
