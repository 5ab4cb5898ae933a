//! What the name of an export column says about which canonical column it is.

use super::ends::{ENDS, MATED};
use super::fold::{alike, name_tokens};
use super::vocabulary::{Token, Vocabulary};
use crate::records::{Column, Kind, Table};

/// How clearly a name speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Clarity {
    /// Some of it fits.
    Partial,
    /// The word is common, but of other things too.
    Weak,
    /// The whole name is a word of the trade for it.
    Exact,
}

/// Signs and names of currencies that may stand in the name of a column of money.
const CURRENCIES: [&str; 10] =
    ["eur", "usd", "gbp", "chf", "pln", "sek", "brl", "euro", "euros", "zl"];
/// Shortest phrase that counts inside a longer name.
const LEAST_PART: usize = 4;
/// Shortest phrase that counts inside a longer token, or misspelled.
const LEAST_STEM: usize = 5;
/// Likeness from which a name counts as a misspelled phrase.
const LIKE: f64 = 0.86;
/// Endings that German and Dutch write into one word with what they belong to.
const ENDINGS: [&str; 7] = ["zeitpunkt", "tijdstip", "nummer", "datum", "zeit", "tijd", "nr"];

/// Keys of the lists that mean people: two canonical columns, and whoever else a row may name.
const PEOPLE: [&str; 3] = ["inspector", "operator", "person"];

/// An export column's name, cut up.
#[derive(Clone, Debug)]
pub struct Name {
    /// Without what stands in brackets.
    tokens: Vec<String>,
    /// What stands in brackets: mostly a unit.
    beside: Vec<String>,
    /// Keys of the lists that a part of it, or nearly the whole, is a name for.
    partly: Vec<&'static str>,
}

/// A unit of time that a name says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    Minutes,
    Hours,
}

impl Name {
    /// Cuts a name up.
    pub fn of(text: &str) -> Self {
        let (mut plain, mut beside, mut depth) = (String::new(), String::new(), 0usize);
        for c in text.chars() {
            match c {
                '(' | '[' => depth += 1,
                ')' | ']' => depth = depth.saturating_sub(1),
                _ if depth > 0 => beside.push(c),
                _ => plain.push(c),
            }
            if matches!(c, '(' | ')' | '[' | ']') {
                plain.push(' ');
                beside.push(' ');
            }
        }
        let tokens: Vec<String> =
            name_tokens(&plain).into_iter().flat_map(|token| unglued(&token)).collect();
        Self { partly: partly(&tokens), tokens, beside: name_tokens(&beside) }
    }

    /// The tokens outside brackets.
    pub fn tokens(&self) -> &[String] {
        &self.tokens
    }

    /// Whether one of them is a small word of that kind.
    pub fn has(&self, kind: Token) -> bool {
        self.tokens.iter().any(|token| is(token, kind))
    }

    /// The tokens in brackets.
    pub fn beside(&self) -> &[String] {
        &self.beside
    }

    /// Whether it says that its times are in UTC.
    pub fn is_utc(&self) -> bool {
        self.tokens.iter().chain(&self.beside).any(|token| is(token, Token::Utc))
    }

    /// The same name without the token at that place.
    pub fn without(&self, place: usize) -> Self {
        let mut tokens = self.tokens.clone();
        tokens.remove(place);
        Self { partly: partly(&tokens), tokens, beside: self.beside.clone() }
    }

    /// Whether it is a name of the lists for `key`, needing confirmation or not.
    pub fn means(&self, key: &str) -> Option<Clarity> {
        let vocabulary = Vocabulary::get();
        let short = vocabulary.without(&self.tokens, Token::Stop);
        [self.tokens.join(" "), short.join(" ")]
            .iter()
            .flat_map(|form| vocabulary.name(form))
            .filter(|meaning| meaning.of == key)
            .map(|meaning| if meaning.weak { Clarity::Weak } else { Clarity::Exact })
            .max()
    }

    /// Whether it says that people's names stand in the column: whoever inspected, did the work, was told
    /// to, or wrote it down.
    pub fn is_of_people(&self) -> bool {
        let vocabulary = Vocabulary::get();
        let tokens = vocabulary.without(&self.tokens, Token::Id);
        let tokens = vocabulary.without(&tokens, Token::Label);
        let bare = Self { tokens, beside: Vec::new(), partly: Vec::new() };
        let means = |key: &&str| self.means(key).is_some() || bare.means(key).is_some();
        PEOPLE.iter().any(means) || self.partly.iter().any(|key| PEOPLE.contains(key))
    }

    /// Whether the lists know the whole name, as whatever.
    pub fn is_known(&self) -> bool {
        let short = Vocabulary::get().without(&self.tokens, Token::Stop);
        [self.tokens.join(" "), short.join(" ")].iter().any(|name| is_known(name))
    }

    /// The unit of time that it names; none where it names none, or two.
    pub fn unit(&self) -> Option<Unit> {
        let names = |kind| self.tokens.iter().chain(&self.beside).any(|token| is(token, kind));
        match (names(Token::Minutes), names(Token::Hours)) {
            (true, false) => Some(Unit::Minutes),
            (false, true) => Some(Unit::Hours),
            _ => None,
        }
    }

    /// How clearly it names a canonical column; none if it does not.
    pub fn clarity(&self, table: Table, column: &Column) -> Option<Clarity> {
        if self.tokens.is_empty() || self.beside.iter().any(|token| is(token, Token::Other)) {
            return None;
        }
        if let Some(found) = self.end_in_brackets(table, column) {
            return found;
        }
        if self.is_other_end(table, column) {
            return None;
        }
        let own = format!("{}.{}", table.name(), column.name);
        let whole = |name: &Name| name.means(&own).max(name.means(column.name));
        let found = whole(self).max(whole(&self.bare(column))).max(self.noun(table, column));
        let found = found.max(self.end_by_word(table, column));
        let found = found.or_else(|| self.doer(column));
        if found.is_some() || self.has(Token::Other) {
            return found;
        }
        let partly = self.partly.iter().any(|key| *key == own || *key == column.name);
        partly.then_some(Clarity::Partial)
    }

    /// An end face of a mating whose side stands in brackets, as in `connector (plug)`: which end it is.
    fn end_in_brackets(&self, table: Table, column: &Column) -> Option<Option<Clarity>> {
        let sides = ["plug", "bulkhead"];
        let end = mated_end(column)?;
        let meanings = Vocabulary::get().word("side", &self.beside.concat());
        let side = meanings.iter().find_map(|one| sides.iter().position(|side| *side == one.of))?;
        let bare = Self { tokens: self.tokens.clone(), beside: Vec::new(), partly: Vec::new() };
        let is_end = bare.means("end_face").or(bare.means(column.name))?;
        (table == Table::Matings).then_some((side == end).then_some(is_end))
    }

    /// Whether a word of it tells that it is the other end of a mating: `port a` is no second end.
    fn is_other_end(&self, table: Table, column: &Column) -> bool {
        let Some(end) =
            mated_end(column).filter(|_| table == Table::Matings && self.tokens.len() > 1)
        else {
            return false;
        };
        let outer = [self.tokens.first(), self.tokens.last()];
        let tells = |end: usize| {
            outer.iter().flatten().any(|token| ENDS.iter().any(|ends| ends[end] == token.as_str()))
        };
        tells(1 - end) && !tells(end)
    }

    /// An end face of a mating whose end a word tells, as in `point a`.
    fn end_by_word(&self, table: Table, column: &Column) -> Option<Clarity> {
        let end = mated_end(column)?;
        let last = self.tokens.len().checked_sub(1).filter(|last| *last > 0)?;
        let told = |place: &usize| ENDS.iter().any(|ends| self.tokens[*place] == ends[end]);
        let place = [last, 0].into_iter().find(told).filter(|_| table == Table::Matings)?;
        self.without(place).means("end_face")
    }

    /// Whoever did one thing may have done the other: `done by` of a look is its inspector.
    fn doer(&self, column: &Column) -> Option<Clarity> {
        let other = match column.name {
            "inspector" => "operator",
            "operator" => "inspector",
            _ => return None,
        };
        self.means(other).map(|_| Clarity::Weak)
    }

    /// Without the small words that belong to the kind of the column.
    fn bare(&self, column: &Column) -> Self {
        let vocabulary = Vocabulary::get();
        let tokens = match column.kind {
            Kind::Text | Kind::Code | Kind::Person => {
                let tokens = vocabulary.without(&self.tokens, Token::Id);
                vocabulary.without(&tokens, Token::Label)
            }
            Kind::Time => vocabulary.without(&self.tokens, Token::Clock),
            Kind::Integer => vocabulary.without(&self.tokens, Token::Minutes),
            Kind::Minutes => {
                let tokens = vocabulary.without(&self.tokens, Token::Minutes);
                vocabulary.without(&tokens, Token::Hours)
            }
            Kind::Money => {
                let amount = self.tokens.iter().filter(|token| !is_currency(token));
                amount.cloned().collect()
            }
            Kind::Flag => self.tokens.clone(),
        };
        Self { tokens, beside: Vec::new(), partly: Vec::new() }
    }

    /// Names made of the table's own word: `inspection id`, `inspection date`, `inspection`.
    fn noun(&self, table: Table, column: &Column) -> Option<Clarity> {
        let kind = match column.name {
            "record" => Token::Id,
            name if table.time_column() == Some(name) => Token::Clock,
            _ => return None,
        };
        if self.tokens.iter().all(|token| is(token, kind)) {
            // A ticket's date could be either of two.
            let plain = kind == Token::Id || table != Table::Faults;
            return Some(if plain { Clarity::Exact } else { Clarity::Weak });
        }
        let vocabulary = Vocabulary::get();
        let rest = vocabulary.without(&self.tokens, Token::Stop);
        let rest = vocabulary.without(&rest, kind);
        let meanings = vocabulary.word("action", &rest.concat());
        if !meanings.iter().any(|meaning| meaning.of == table.name()) {
            return None;
        }
        match (rest.len() < self.tokens.len(), kind) {
            (true, _) => Some(Clarity::Exact),
            (false, Token::Id) => Some(Clarity::Weak),
            (false, _) => None,
        }
    }
}

/// Which end of a mating the column is, from 0.
fn mated_end(column: &Column) -> Option<usize> {
    MATED.iter().position(|end| *end == column.name)
}

/// The keys that a phrase inside the name, or one nearly like it, is a name for.
fn partly(tokens: &[String]) -> Vec<&'static str> {
    let name = tokens.join(" ");
    let spaced = format!(" {name} ");
    let fits = |phrase: &str| {
        let stem = phrase.len() >= LEAST_STEM;
        phrase.len() >= LEAST_PART && spaced.contains(&format!(" {phrase} "))
            || stem && tokens.iter().any(|token| within(token, phrase))
            || stem && alike(&name, phrase, LIKE)
    };
    let mut keys: Vec<&'static str> = Vec::new();
    for (phrase, meanings) in Vocabulary::get().names() {
        let strong = meanings.iter().filter(|meaning| !meaning.weak);
        let new: Vec<_> =
            strong.map(|meaning| meaning.of).filter(|key| !keys.contains(key)).collect();
        if !new.is_empty() && fits(phrase) {
            keys.extend(new);
        }
    }
    keys
}

fn within(token: &str, phrase: &str) -> bool {
    token.starts_with(phrase) || token.ends_with(phrase)
}

fn is(token: &str, kind: Token) -> bool {
    Vocabulary::get().is(token, kind)
}

fn is_currency(token: &str) -> bool {
    CURRENCIES.contains(&token)
}

/// Whether the lists know a word by itself.
fn is_known(word: &str) -> bool {
    let vocabulary = Vocabulary::get();
    !vocabulary.name(word).is_empty()
        || !vocabulary.word("action", word).is_empty()
        || vocabulary.is(word, Token::Other)
}

/// `prufdatum` as `pruf datum`.
fn unglued(token: &str) -> Vec<String> {
    let ending = ENDINGS.iter().find_map(|ending| Some((token.strip_suffix(ending)?, *ending)));
    match ending {
        Some((stem, ending)) if stem.len() >= LEAST_PART && !is_known(token) => {
            vec![unjoined(stem), ending.to_owned()]
        }
        _ => vec![unjoined(token)],
    }
}

/// Without the `s` that joins German and Dutch words, as in `reinigungs-nr`.
fn unjoined(token: &str) -> String {
    let stem = token.strip_suffix('s').filter(|stem| is_known(stem) && !is_known(token));
    stem.unwrap_or(token).to_owned()
}
