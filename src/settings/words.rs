//! Checks of single words, lists of words, days and time zones.

use chrono::NaiveDate;
use chrono_tz::{TZ_VARIANTS, Tz};
use rustc_hash::FxHashSet;

use super::day::Day;
use super::nearest::{nearest, not_one_of};
use super::place::Place;
use super::problems::Problems;

/// A day, in the words of messages.
pub const A_DAY: &str = "a day such as \"2026-07-05\"";
/// A time zone, in the words of messages.
pub const A_ZONE: &str = "an IANA time zone such as \"Europe/Vienna\"";

/// Words of a list that the program fixes, as a list of the settings.
pub fn texts(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

/// Notes a word that no trimmed cell and no printed name can be.
pub fn word(text: &str, place: &Place, problems: &mut Problems) {
    if text.trim().is_empty() {
        problems.add(place, format!("found {text:?}, expected a word that is not empty"));
    } else if text.trim() != text || text.contains(char::is_control) {
        let wanted = "expected no spaces around it and no control characters";
        problems.add(place, format!("found {text:?}, {wanted}"));
    }
}

/// Notes what is no word in a list, or stands in it twice.
pub fn list(words: &[String], place: &Place, problems: &mut Problems) {
    let mut known: FxHashSet<&str> = FxHashSet::default();
    for (index, text) in words.iter().enumerate() {
        let here = place.index(index);
        word(text, &here, problems);
        if !known.insert(text) {
            problems.add(&here, format!("found {text:?} a second time; remove one"));
        }
    }
}

/// The value that `text` stands for.
pub fn choice<T: Copy>(
    text: &str,
    choices: &[(&str, T)],
    place: &Place,
    problems: &mut Problems,
) -> Option<T> {
    let found = choices.iter().find(|(name, _)| *name == text).map(|(_, value)| *value);
    if found.is_none() {
        let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        problems.add(place, not_one_of(text, &names));
    }
    found
}

/// Notes a word outside a closed list.
pub fn one_of(text: &str, known: &[&str], place: &Place, problems: &mut Problems) {
    if !known.contains(&text) {
        problems.add(place, not_one_of(text, known));
    }
}

/// The day that is written.
pub fn day(day: &Day, place: &Place, problems: &mut Problems) -> Option<NaiveDate> {
    let parsed = NaiveDate::parse_from_str(&day.0, "%Y-%m-%d").ok();
    if parsed.is_none() {
        problems.add(place, format!("found {:?}, expected {A_DAY}", day.0));
    }
    parsed
}

/// The time zone of that name.
pub fn zone(name: &str, place: &Place, problems: &mut Problems) -> Option<Tz> {
    let zone = name.parse().ok();
    if zone.is_none() {
        let meant = nearest(name, TZ_VARIANTS.iter().map(|zone| zone.name()));
        let hint = meant.map(|meant| format!("; did you mean {meant:?}?")).unwrap_or_default();
        problems.add(place, format!("found {name:?}, expected {A_ZONE}{hint}"));
    }
    zone
}

/// Notes a whole number outside a range, and gives the nearest inside it.
pub fn whole(number: i64, low: i64, high: i64, place: &Place, problems: &mut Problems) -> i64 {
    if !(low..=high).contains(&number) {
        problems
            .add(place, format!("found {number}, expected a whole number from {low} to {high}"));
    }
    number.clamp(low, high)
}
