//! The patterns that a text may be written by, from its shape alone.

use super::DayMonth;
use super::DayMonth::{DayFirst, MonthFirst, Named, YearFirst};
use super::written_time::time;
use crate::tabular::date::month_of;

/// Longest text that can be a time, bytes.
const LONGEST: usize = 64;
/// Most characters between two fields of a date.
const WIDEST_GAP: usize = 3;

/// A pattern with the order that it puts day and month in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Way {
    pub pattern: String,
    pub order: DayMonth,
}

/// Every pattern that a text may be written by; none if it has the shape of no time.
pub fn ways(text: &str) -> Vec<Way> {
    if text.len() > LONGEST {
        return Vec::new();
    }
    date_then_time(text).or_else(|| time_then_date(text)).unwrap_or_default()
}

fn date_then_time(text: &str) -> Option<Vec<Way>> {
    let mut cursor = Cursor::new(text);
    let mut ways = date(&mut cursor)?;
    if cursor.is_done() {
        return Some(ways);
    }
    let gap = cursor.gap();
    let clock = time(&mut cursor).filter(|_| cursor.is_done())?;
    for way in &mut ways {
        way.pattern = format!("{}{}{clock}", way.pattern, literal(gap));
    }
    Some(ways)
}

fn time_then_date(text: &str) -> Option<Vec<Way>> {
    let mut cursor = Cursor::new(text);
    let clock = time(&mut cursor)?;
    let gap = cursor.gap();
    let mut ways = date(&mut cursor).filter(|_| cursor.is_done() && !gap.is_empty())?;
    for way in &mut ways {
        way.pattern = format!("{clock}{}{}", literal(gap), way.pattern);
    }
    Some(ways)
}

/// A date at the cursor.
fn date(cursor: &mut Cursor) -> Option<Vec<Way>> {
    let Some(first) = cursor.digits() else {
        return month_then_day(cursor);
    };
    match first.len() {
        8 => return Some(compact(first)),
        12 if plausible(&first[..4]) => return Some(vec![way("%Y%m%d%H%M", YearFirst)]),
        14 if plausible(&first[..4]) => return Some(vec![way("%Y%m%d%H%M%S", YearFirst)]),
        1 | 2 | 4 => {}
        _ => return None,
    }
    let gap = cursor.gap();
    match cursor.digits() {
        Some(second) => numbers(cursor, first, gap, second),
        None => named(cursor, first, gap),
    }
}

/// Eight digits without anything between them.
fn compact(digits: &str) -> Vec<Way> {
    let mut ways = Vec::new();
    if plausible(&digits[..4]) {
        ways.push(way("%Y%m%d", YearFirst));
    }
    if plausible(&digits[4..]) {
        ways.extend([way("%d%m%Y", DayFirst), way("%m%d%Y", MonthFirst)]);
    }
    ways
}

/// Whether four digits among others are likely to be a year.
fn plausible(year: &str) -> bool {
    ("1900"..="2100").contains(&year)
}

/// Three numbers with the same gap between them.
fn numbers(cursor: &mut Cursor, first: &str, gap: &str, second: &str) -> Option<Vec<Way>> {
    let same = !gap.is_empty() && cursor.gap() == gap && !gap.contains([':', ',', '+']);
    let third = cursor.digits().filter(|_| same && !gap.contains(char::is_alphabetic))?;
    let gap = literal(gap);
    let orders = |year: &str| {
        [
            (format!("%d{gap}%m{gap}%{year}"), DayFirst),
            (format!("%m{gap}%d{gap}%{year}"), MonthFirst),
        ]
    };
    let short = (format!("%y{gap}%m{gap}%d"), YearFirst);
    let found = match (first.len(), second.len(), third.len()) {
        (4, 1 | 2, 1 | 2) => vec![(format!("%Y{gap}%m{gap}%d"), YearFirst)],
        (1 | 2, 1 | 2, 4) => orders("Y").to_vec(),
        (1, 1 | 2, 2) => orders("y").to_vec(),
        (2, 1 | 2, 2) => orders("y").into_iter().chain([short]).collect(),
        (2, 1 | 2, 1) => vec![short],
        _ => return None,
    };
    Some(found.iter().map(|(pattern, order)| way(pattern, *order)).collect())
}

/// A number, the name of a month, a number.
fn named(cursor: &mut Cursor, first: &str, gap: &str) -> Option<Vec<Way>> {
    let mut gap = gap.to_owned();
    let month = cursor.month(&mut gap)?;
    let behind = cursor.behind_month();
    let last = cursor.digits()?;
    let letters = match (first.len(), last.len()) {
        (4, 1 | 2) => ["Y", "d"],
        (1 | 2, 4) => ["d", "Y"],
        (1 | 2, 2) => ["d", "y"],
        _ => return None,
    };
    let [first, last] = letters;
    let pattern = format!("%{first}{}{month}{}%{last}", literal(&gap), literal(behind));
    Some(vec![way(&pattern, Named)])
}

/// The name of a month, a day, a year.
fn month_then_day(cursor: &mut Cursor) -> Option<Vec<Way>> {
    let month = cursor.month(&mut String::new())?;
    let gap = literal(cursor.behind_month());
    let day = cursor.digits()?;
    let behind = literal(cursor.gap());
    let year = match (day.len(), cursor.digits()?.len()) {
        (1 | 2, 4) => "Y",
        (1 | 2, 2) => "y",
        _ => return None,
    };
    (!behind.is_empty()).then(|| vec![way(&format!("{month}{gap}%d{behind}%{year}"), Named)])
}

fn way(pattern: &str, order: DayMonth) -> Way {
    Way { pattern: pattern.to_owned(), order }
}

/// A text that a pattern has to take as it is.
pub fn literal(text: &str) -> String {
    text.replace('%', "%%")
}

/// A place in a text.
#[derive(Clone, Copy, Debug)]
pub struct Cursor<'a> {
    rest: &'a str,
}

impl<'a> Cursor<'a> {
    /// At the start of a text.
    pub fn new(text: &'a str) -> Self {
        Self { rest: text }
    }

    /// Whether nothing is left.
    pub fn is_done(&self) -> bool {
        self.rest.is_empty()
    }

    /// What is left.
    pub fn rest(&self) -> &'a str {
        self.rest
    }

    /// Takes the first so many bytes, which end between two characters.
    pub fn take(&mut self, length: usize) -> &'a str {
        let (taken, rest) = self.rest.split_at_checked(length).unwrap_or((self.rest, ""));
        self.rest = rest;
        taken
    }

    /// Takes what is made of such characters.
    pub fn run(&mut self, wanted: impl Fn(char) -> bool) -> &'a str {
        let end = self.rest.find(|c| !wanted(c)).unwrap_or(self.rest.len());
        self.take(end)
    }

    /// Takes digits, if there are any.
    pub fn digits(&mut self) -> Option<&'a str> {
        Some(self.run(|c| c.is_ascii_digit())).filter(|digits| !digits.is_empty())
    }

    /// Takes what stands before the next number: a few marks and blanks, or one short word, which is
    /// no month, with such around it. Empty if it is more.
    pub fn gap(&mut self) -> &'a str {
        let end = self.rest.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
        let gap = &self.rest[..end];
        let word = gap.trim_matches(is_mark);
        let (letters, all) = (word.chars().count(), gap.chars().count());
        let short = letters <= WIDEST_GAP && all - letters <= WIDEST_GAP;
        let fits = short && word.chars().all(char::is_alphabetic) && month_of(word).is_none();
        self.take(if fits { end } else { 0 })
    }

    /// Takes the name of a month, and adds to the gap what stands before it.
    fn month(&mut self, gap: &mut String) -> Option<&'static str> {
        gap.push_str(self.run(is_mark));
        let mut word = self.run(char::is_alphabetic);
        if month_of(word).is_none() && word.chars().count() <= WIDEST_GAP && !gap.is_empty() {
            gap.push_str(word);
            gap.push_str(self.run(is_mark));
            word = self.run(char::is_alphabetic);
        }
        month_of(word).filter(|_| gap.chars().count() <= 3 * WIDEST_GAP).map(|_| "%b")
    }

    /// Takes what stands between the name of a month and a number; a dot that only ends the name is
    /// the name's own.
    fn behind_month(&mut self) -> &'a str {
        let dotted = self.rest.starts_with('.');
        if dotted && !self.rest[1..].starts_with(|c: char| c.is_ascii_digit()) {
            self.take(1);
        }
        self.gap()
    }
}

fn is_mark(c: char) -> bool {
    !c.is_alphanumeric()
}
