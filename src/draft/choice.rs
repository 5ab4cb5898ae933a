//! Which export column fills which canonical column of one table.

use super::asked::Asked;
use super::assign::assign;
use super::fit::{ENOUGH, Fit, fit, looks_like_people};
use super::money::names_currency;
use super::name::{Clarity, Name};
use super::texts::texts;
use super::vocabulary::Token;
use crate::records::{Column, Kind, Table, columns};
use crate::tabular::profile::ColumnProfile;

/// An export column with the name to judge it by.
#[derive(Clone, Debug)]
pub struct Candidate<'p> {
    pub profile: &'p ColumnProfile,
    pub name: Name,
}

/// An export column chosen for a canonical one.
#[derive(Clone, Debug)]
pub struct Choice<'p> {
    pub column: &'static Column,
    pub profile: &'p ColumnProfile,
    pub clarity: Option<Clarity>,
    pub fit: Fit,
    /// How well both together speak for it.
    pub score: f64,
    /// Whether all its cells are words of the fleet's own list, such as its sites, or codes that are nothing else.
    pub is_all_known: bool,
    /// Another column of the export that could be it as well.
    pub rival: Option<&'p str>,
}

/// Closed lists of words so particular that they tell a column without its name.
const TELLING: [&str; 13] = [
    "family",
    "stage",
    "outcome",
    "side",
    "optic",
    "finding",
    "method",
    "cause",
    "remedy",
    "disposition",
    "mode",
    "polish",
    "grading",
];
/// Times that rarely are missing where an export has one more than it needs.
const ENDINGS: [&str; 2] = ["cleared", "demated_at"];
/// Different words that must be known before a list tells its column.
const LEAST_WORDS: usize = 2;
/// Columns of more different words are no list, unless their name says so.
const MOST_WORDS: usize = 40;
/// What a column gains by its name and by its cells.
const REMEMBERED: f64 = 2.0;
const EXACT: f64 = 1.0;
const WEAK: f64 = 0.6;
const PARTIAL: f64 = 0.4;
const UNNAMED: f64 = 0.2;
const AGAINST: f64 = 0.3;
const GOOD: f64 = 0.5;
const FAIR: f64 = 0.25;
/// A rival this much worse is none.
const RIVAL: f64 = 0.15;

impl Choice<'_> {
    /// Whether nothing about it needs to be asked.
    pub fn is_sure(&self) -> bool {
        if self.is_all_known && self.rival.is_none() {
            return true;
        }
        let named = match self.clarity {
            Some(Clarity::Exact) => self.fit > least(self.column),
            Some(Clarity::Weak) => self.fit == Fit::Good,
            _ => false,
        };
        named && self.rival.is_none()
    }
}

/// The choices for a table, in the order of its columns.
pub fn choose<'p>(table: Table, candidates: &[Candidate<'p>], asked: &Asked) -> Vec<Choice<'p>> {
    let wanted: Vec<&'static Column> = columns(table)
        .iter()
        .filter(|column| column.name != "site" || asked.site.is_none())
        .collect();
    let judged: Vec<Vec<Option<Judged>>> = wanted
        .iter()
        .map(|column| candidates.iter().map(|one| judge(table, column, one, asked)).collect())
        .collect();
    let gains: Vec<Vec<f64>> = judged
        .iter()
        .map(|row| row.iter().map(|judged| judged.as_ref().map_or(0.0, |it| it.score)).collect())
        .collect();
    let assigned = assign(&gains);
    let taken: Vec<usize> = assigned.iter().flatten().copied().collect();
    let mut choices = Vec::new();
    for (row, place) in assigned.iter().enumerate() {
        let Some((place, judged)) = place.and_then(|place| Some((place, judged[row][place]?)))
        else {
            continue;
        };
        let rival =
            |other: usize| !taken.contains(&other) && gains[row][other] >= judged.score - RIVAL;
        choices.push(Choice {
            column: wanted[row],
            profile: candidates[place].profile,
            clarity: judged.clarity,
            fit: judged.fit,
            score: judged.score,
            is_all_known: match wanted[row].name {
                "site" => holds_only(&candidates[place], asked),
                "family" => holds_families(&candidates[place], asked),
                _ => false,
            },
            rival: (0..candidates.len())
                .find(|other| rival(*other))
                .map(|other| candidates[other].profile.name.as_str()),
        });
    }
    choices
}

#[derive(Clone, Copy, Debug)]
struct Judged {
    clarity: Option<Clarity>,
    fit: Fit,
    score: f64,
}

fn judge(table: Table, column: &Column, one: &Candidate, asked: &Asked) -> Option<Judged> {
    if asked.remembered.fills(table, &one.profile.name, column.name) {
        let (clarity, fit) = (Some(Clarity::Exact), fit(one.profile, column, asked).max(Fit::Good));
        return Some(Judged { clarity, fit, score: REMEMBERED });
    }
    // An amount of a currency is nothing else, whatever it is paid for.
    let counted = matches!(column.kind, Kind::Minutes | Kind::Integer);
    if counted && names_currency(&one.profile.name) {
        return None;
    }
    let clarity = one.name.clarity(table, column);
    let unnamed = clarity.is_none();
    let timed = column.kind == Kind::Time
        && (column.required || unnamed && ENDINGS.contains(&column.name) && may_be_end(one));
    let telling = TELLING.contains(&column.name) && one.profile.distinct <= MOST_WORDS
        || column.name == "site" && holds_only(one, asked)
        || unnamed && column.name == "record" && is_numbered(one);
    if unnamed && !timed && !telling {
        return None;
    }
    let fit = fit(one.profile, column, asked);
    let named = match (clarity, fit) {
        // What else is called so is no fibre's number, for certain.
        (_, Fit::Against) if column.name == "fibre" => return None,
        (Some(Clarity::Exact), Fit::Against) => AGAINST,
        (_, Fit::Against) => return None,
        // Any column of few words could be a site; of a list of sites, some must be known.
        (Some(Clarity::Weak | Clarity::Partial), Fit::Silent)
            if column.name == "site" && !asked.sites.is_empty() =>
        {
            return None;
        }
        (Some(Clarity::Exact), _) => EXACT,
        (Some(Clarity::Weak), _) => WEAK,
        (Some(Clarity::Partial), _) => PARTIAL,
        (None, _) if column.name == "site" || tells(one.profile, column, fit) => UNNAMED,
        (None, _) => return None,
    };
    let held = match fit {
        Fit::Good => GOOD,
        Fit::Fair => FAIR,
        Fit::Silent | Fit::Against => 0.0,
    };
    Some(Judged { clarity, fit, score: named + held })
}

/// What the cells of a column with the very name of it must not be. A result and a number of a fibre share their names
/// with grades, states and kinds.
fn least(column: &Column) -> Fit {
    match column.name {
        "outcome" | "fibre" => Fit::Silent,
        _ => Fit::Against,
    }
}

/// Whether all its cells are sites of the fleet.
fn holds_only(one: &Candidate, asked: &Asked) -> bool {
    let texts = texts(one.profile);
    !asked.sites.is_empty()
        && !texts.is_empty()
        && texts.iter().all(|(text, _)| asked.sites.iter().any(|site| site == text))
}

/// Whether all its cells are codes of families, and of several: `LC` is nothing else.
fn holds_families(one: &Candidate, asked: &Asked) -> bool {
    let codes = asked.allowed("family").unwrap_or_default();
    let texts = texts(one.profile);
    texts.len() >= LEAST_WORDS && texts.iter().all(|(text, _)| codes.contains(text))
}

/// Whether it may be the end of something though no list knows its name.
fn may_be_end(one: &Candidate) -> bool {
    !one.name.is_known() && !one.name.has(Token::Other)
}

/// Whether it is a number of something that no list knows: where it differs from row to row, perhaps the record's own.
fn is_numbered(one: &Candidate) -> bool {
    let of_no_row = |kind| one.name.has(kind);
    let named =
        |table: Table| columns(table).iter().any(|it| one.name.clarity(table, it).is_some());
    one.name.has(Token::Id)
        && ![Token::Place, Token::Port, Token::Other].into_iter().any(of_no_row)
        && one.profile.given() >= ENOUGH
        && !one.name.is_of_people()
        && looks_like_people(one.profile) < Fit::Good
        && !Table::ALL.into_iter().any(named)
}

/// Whether the cells alone are worth a question.
fn tells(profile: &ColumnProfile, column: &Column, fit: Fit) -> bool {
    match column.kind {
        Kind::Time => fit == Fit::Fair,
        _ => fit == Fit::Good && profile.distinct >= LEAST_WORDS,
    }
}
