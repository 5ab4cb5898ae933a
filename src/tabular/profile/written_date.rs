//! The patterns that a text may be written by, from its shape alone.

use super::cursor::{Cursor, literal};
use super::date_fit::DayMonth;
use super::date_fit::DayMonth::{DayFirst, MonthFirst, Named, YearFirst};
use super::written_time::time;

/// Longest text that can be a time, bytes.
const LONGEST: usize = 64;
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
