//! What the cells of an export column say about which canonical column it is.

use super::asked::Asked;
use super::code::{Known, known};
use super::durations::are_durations;
use super::ends::END_FACES;
use super::fold::word_tokens;
use super::name::Name;
use super::texts::{share, texts};
use crate::records::{Column, Kind};
use crate::tabular::profile::{ColumnProfile, Guess};

/// What they say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    /// They cannot be it.
    Against,
    /// Nothing.
    Silent,
    /// They could well be it, as other columns could.
    Fair,
    /// They are of a kind that hardly another column has.
    Good,
}

/// Share of cells that must fit.
const MOST: f64 = 0.9;
/// Share of cells from which a list is recognised at all.
const SOME: f64 = 0.2;
/// Most different words of a coded column of which none is known.
const MOST_UNKNOWN: usize = 25;
/// Distinct values per cell from which a column identifies its rows, and below which it cannot.
const UNIQUE: f64 = 0.95;
const REPEATED: f64 = 0.5;
/// Given cells from which counts of distinct texts say something.
pub const ENOUGH: usize = 20;

/// How the cells of `profile` fit a canonical column.
pub fn fit(profile: &ColumnProfile, column: &Column, asked: &Asked) -> Fit {
    if profile.given() == 0 {
        return Fit::Silent;
    }
    match column.kind {
        Kind::Time => is_time(profile),
        Kind::Integer => numbers(profile, profile.numbers.whole),
        Kind::Minutes if are_durations(profile) => Fit::Fair,
        Kind::Minutes => numbers(profile, profile.numbers.whole),
        Kind::Money => numbers(profile, profile.numbers.amounts),
        _ if is_clock(profile) || matches!(profile.kind, Guess::Decimal { .. }) => Fit::Against,
        Kind::Flag => listed(profile, column.name, &["yes", "no"]),
        Kind::Text => text(profile, column.name),
        Kind::Person => looks_like_people(profile),
        Kind::Code => match asked.allowed(column.name) {
            Some(codes) => listed(profile, column.name, &codes),
            None if column.name == "fibre" => fibre(profile, asked),
            None => free(profile),
        },
    }
}

fn is_time(profile: &ColumnProfile) -> Fit {
    let best = profile.dates.first();
    let fits = best.is_some_and(|best| best.fits as f64 >= MOST * profile.given() as f64);
    if fits { Fit::Fair } else { Fit::Against }
}

/// Dates in the shape of dates: a compact one or seconds since 1970 could be a number as well.
fn is_clock(profile: &ColumnProfile) -> bool {
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    is_time(profile) == Fit::Fair && !profile.examples.iter().all(|text| digits(text))
}

/// `fitting` of the given cells are such numbers.
fn numbers(profile: &ColumnProfile, fitting: usize) -> Fit {
    let fits = fitting as f64 >= MOST * profile.given() as f64 && !is_clock(profile);
    if fits { Fit::Fair } else { Fit::Against }
}

/// Words of a closed list.
fn listed(profile: &ColumnProfile, column: &str, codes: &[&str]) -> Fit {
    let Some(words) = &profile.words else { return Fit::Against };
    let (mut sure, mut likely, mut all) = (0, 0, 0);
    for (word, count) in texts(profile) {
        all += count;
        match known(column, word, codes) {
            Known::Same | Known::Sure(_) => sure += count,
            Known::Likely(..) => likely += count,
            Known::Unknown => {}
        }
    }
    if sure as f64 >= MOST * all as f64 {
        Fit::Good
    } else if (sure + likely) as f64 >= SOME * all as f64 {
        Fit::Fair
    } else if words.len() <= MOST_UNKNOWN && !matches!(profile.kind, Guess::Integer | Guess::Flag) {
        Fit::Silent
    } else {
        Fit::Against
    }
}

/// Share of the cells at hand whose word the list of a canonical column knows.
pub fn share_known(profile: &ColumnProfile, column: &str, asked: &Asked) -> f64 {
    let codes = asked.allowed(column).unwrap_or_default();
    share(profile, |text| known(column, text, &codes) != Known::Unknown)
}

/// Numbers of fibres, or names of them; kinds of fibre and results are called by the same word.
fn fibre(profile: &ColumnProfile, asked: &Asked) -> Fit {
    let is_of = |column: &str| share_known(profile, column, asked) >= SOME;
    let numbered = share(profile, |text| text.bytes().any(|byte| byte.is_ascii_digit())) >= MOST;
    match free(profile) {
        Fit::Against => Fit::Against,
        _ if is_of("mode") || is_of("outcome") => Fit::Against,
        _ if numbered => Fit::Fair,
        other => other,
    }
}

fn free(profile: &ColumnProfile) -> Fit {
    if profile.words.is_some() { Fit::Silent } else { Fit::Against }
}

/// How the cells fit people's names.
pub fn looks_like_people(profile: &ColumnProfile) -> Fit {
    let capital = |token: &&str| token.chars().next().is_some_and(char::is_uppercase);
    let letters = |text: &str| !text.chars().any(|c| c.is_ascii_digit());
    let name = |text: &str| letters(text) && text.split_whitespace().filter(capital).count() >= 2;
    if share(profile, name) >= MOST {
        return Fit::Good;
    }
    if profile.kind == Guess::Flag { Fit::Against } else { Fit::Silent }
}

fn text(profile: &ColumnProfile, column: &str) -> Fit {
    let (cells, many) = (profile.given(), profile.given() >= ENOUGH);
    let distinct = profile.distinct as f64 / cells.max(1) as f64;
    let numbered = share(profile, |text| text.bytes().any(|byte| byte.is_ascii_digit())) >= MOST;
    match column {
        "record" if distinct >= UNIQUE => Fit::Good,
        "record" if many && distinct < REPEATED => Fit::Against,
        _ if profile.kind == Guess::Flag || many && profile.distinct <= 2 => Fit::Against,
        _ if END_FACES.contains(&column) && many && is_word_list(profile) => Fit::Against,
        _ if numbered => Fit::Fair,
        _ => Fit::Silent,
    }
}

/// A few words without a number, as of a list: no names of end faces.
fn is_word_list(profile: &ColumnProfile) -> bool {
    let few = profile.distinct <= MOST_UNKNOWN;
    let plain =
        |text: &str| word_tokens(text).iter().all(|token| token.chars().all(char::is_alphabetic));
    few && share(profile, plain) >= MOST
}

/// Whether the name of an export's column says that it holds people's names, in any of the eight
/// languages.
pub fn holds_people(column: &str) -> bool {
    Name::of(column).is_of_people()
}
