//! The pattern of a time of day, from its shape alone.

use super::cursor::{Cursor, literal};

/// Most letters of a word behind a time, as in `10:04 Uhr`.
const LONGEST_WORD: usize = 4;

/// Pattern of the time of day at the cursor, with its half of the day, its offset and a word behind.
pub fn time(cursor: &mut Cursor) -> Option<String> {
    let hours = cursor.digits()?;
    let clock = match hours.len() {
        4 => "%H%M".to_owned(),
        6 => "%H%M%S".to_owned(),
        1 | 2 => minutes(cursor)?,
        _ => return None,
    };
    let clock = match half(cursor) {
        Some(half) => clock.replace("%H", "%I") + &half,
        None => clock,
    };
    let offset = offset(cursor).unwrap_or_default();
    Some(clock + &offset + &word(cursor))
}

/// Minutes, seconds and their fraction behind an hour.
fn minutes(cursor: &mut Cursor) -> Option<String> {
    let joint = cursor.rest().chars().next().filter(|joint| ":.h-".contains(*joint))?;
    cursor.take(1);
    cursor.digits().filter(|minutes| minutes.len() == 2)?;
    let mut pattern = format!("%H{joint}%M");
    if !field(cursor, joint, 2..=2) {
        return Some(pattern);
    }
    pattern.extend([joint.to_string().as_str(), "%S"]);
    for mark in ['.', ','] {
        if field(cursor, mark, 1..=9) {
            pattern.extend([mark.to_string().as_str(), "%f"]);
            break;
        }
    }
    Some(pattern)
}

/// Takes a mark and so many digits behind it, or nothing.
fn field(cursor: &mut Cursor, mark: char, digits: std::ops::RangeInclusive<usize>) -> bool {
    let mut ahead = *cursor;
    let marked = ahead.run(|c| c == mark) == mark.to_string();
    let found = marked && ahead.digits().is_some_and(|found| digits.contains(&found.len()));
    if found {
        *cursor = ahead;
    }
    found
}

/// Takes AM or PM with the blanks before it, or nothing.
fn half(cursor: &mut Cursor) -> Option<String> {
    let mut ahead = *cursor;
    let gap = ahead.run(char::is_whitespace);
    let word = ahead.run(|c| c.is_alphabetic() || c == '.');
    let small = word.to_ascii_lowercase();
    let known = ["am", "pm", "a.m.", "p.m.", "a.m", "p.m"].contains(&small.as_str());
    known.then(|| {
        *cursor = ahead;
        format!("{}%p", literal(gap))
    })
}

/// Takes an offset with the blanks before it, or nothing.
fn offset(cursor: &mut Cursor) -> Option<String> {
    let mut ahead = *cursor;
    let gap = ahead.run(char::is_whitespace);
    let found = if ahead.rest().starts_with(['+', '-']) {
        ahead.take(1);
        match ahead.digits()?.len() {
            2 => field(&mut ahead, ':', 2..=2) || ahead.is_done(),
            4 => ahead.is_done(),
            _ => false,
        }
    } else {
        ahead.run(char::is_alphabetic) == "Z"
    };
    found.then(|| {
        *cursor = ahead;
        format!("{}%z", literal(gap))
    })
}

/// Takes a short word at the very end with the blanks before it, or nothing.
fn word(cursor: &mut Cursor) -> String {
    let mut ahead = *cursor;
    let gap = ahead.run(char::is_whitespace);
    let word = ahead.run(char::is_alphabetic);
    if word.is_empty() || word.chars().count() > LONGEST_WORD || !ahead.is_done() {
        return String::new();
    }
    *cursor = ahead;
    format!("{}{}", literal(gap), literal(word))
}
