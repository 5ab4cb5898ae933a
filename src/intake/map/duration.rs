//! Lengths of time as exports write them, in whole minutes.

use super::number::MOST;
use crate::calendar::{DAY_S, HOUR_S};
use crate::settings::DurationForm;

const SECONDS: u64 = 1;
const MINUTE: u64 = HOUR / 60;
const HOUR: u64 = HOUR_S.unsigned_abs();
const DAY: u64 = DAY_S.unsigned_abs();
/// Most digits in front of a decimal mark: more is no length of time.
const MOST_DIGITS: usize = 15;
/// Digits behind a decimal mark that count; the rest is far below a second.
const DECIMALS: usize = 9;

/// Words of the units, in the languages of the draft's vocabulary; lower case, without a full stop.
const UNITS: [(u64, &[&str]); 4] = [
    (
        DAY,
        &[
            "d", "day", "days", "tag", "tage", "tagen", "t", "j", "jour", "jours", "día", "días",
            "dia", "dias", "giorno", "giorni", "g", "gg", "dag", "dagen", "dzień", "dni",
        ],
    ),
    (
        HOUR,
        &[
            "h", "hr", "hrs", "hour", "hours", "std", "stunde", "stunden", "heure", "heures",
            "hora", "horas", "ora", "ore", "uur", "u", "godz", "godzina", "godziny", "godzin",
        ],
    ),
    (
        MINUTE,
        &[
            "m", "min", "mins", "minute", "minutes", "minuten", "minuto", "minutos", "minuti",
            "minuut", "minuta", "minuty", "minut", "mn", "'",
        ],
    ),
    (
        SECONDS,
        &[
            "s", "sec", "secs", "second", "seconds", "sek", "sekunde", "sekunden", "seconde",
            "secondes", "segundo", "segundos", "secondo", "secondi", "seconden", "sekunda",
            "sekundy", "sekund", "\"",
        ],
    ),
];

/// The length that a text is, in minutes, by the first form that it has; seconds are rounded to the nearest
/// minute, half a minute up. None where it has none of the forms, or is beyond all bounds.
pub fn minutes(text: &str, forms: &[DurationForm], decimal_mark: u8) -> Option<i64> {
    let (text, negative) = match text.strip_prefix('-') {
        Some(rest) => (rest, true),
        None => (text.strip_prefix('+').unwrap_or(text), false),
    };
    let seconds = forms.iter().find_map(|form| seconds(text, *form, decimal_mark))?;
    let minutes = (seconds + MINUTE / 2) / MINUTE;
    if minutes > MOST {
        return None;
    }
    let minutes = i64::try_from(minutes).ok()?;
    Some(if negative { -minutes } else { minutes })
}

/// Seconds of a text without a sign, if it has this form.
fn seconds(text: &str, form: DurationForm, decimal_mark: u8) -> Option<u64> {
    match form {
        DurationForm::Minutes => scaled(text, MINUTE, None),
        DurationForm::Hours => scaled(text, HOUR, Some(decimal_mark)),
        DurationForm::Days => scaled(text, DAY, Some(decimal_mark)),
        DurationForm::HourMinute => clock(text, &[HOUR, MINUTE]),
        DurationForm::HourMinuteSecond => clock(text, &[HOUR, MINUTE, SECONDS]),
        DurationForm::MinuteSecond => clock(text, &[MINUTE, SECONDS]),
        DurationForm::Units => units(text, decimal_mark),
        DurationForm::Iso => iso(text),
    }
}

/// A number, with decimals where there is a mark, of units of so many seconds.
fn scaled(text: &str, unit: u64, mark: Option<u8>) -> Option<u64> {
    let (whole, decimals) = match mark {
        Some(mark) => text.split_once(char::from(mark)).unwrap_or((text, "0")),
        None => (text, "0"),
    };
    let whole = digits(whole)?;
    let decimals = decimals.get(..decimals.len().min(DECIMALS)).filter(|_| is_digits(decimals))?;
    let tenths = 10u64.pow(decimals.len() as u32);
    let part = decimals.parse::<u64>().ok()?.checked_mul(unit)?;
    whole.checked_mul(unit)?.checked_add((part + tenths / 2) / tenths)
}

/// `2:10` and its like: every part but the first has two digits below 60.
fn clock(text: &str, units: &[u64]) -> Option<u64> {
    let mut parts = text.split(':');
    let mut seconds = digits(parts.next()?)?.checked_mul(*units.first()?)?;
    for unit in &units[1..] {
        let part = parts.next().filter(|part| part.len() == 2)?;
        seconds = seconds.checked_add(digits(part).filter(|part| *part < 60)? * unit)?;
    }
    parts.next().is_none().then_some(seconds)
}

/// Numbers followed by their units, largest first, each unit once; a last number without one is of the unit below
/// the one before it: `2 h 10`.
fn units(text: &str, decimal_mark: u8) -> Option<u64> {
    let text = text.to_lowercase();
    let mark = char::from(decimal_mark);
    let mut rest = text.trim_start();
    let (mut seconds, mut below) = (0u64, None);
    while !rest.is_empty() {
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != mark).unwrap_or(rest.len());
        let (number, after) = rest.split_at(end);
        let after = after.trim_start();
        let end = after.find(|c: char| c.is_ascii_digit() || c.is_whitespace());
        let (word, after) = after.split_at(end.unwrap_or(after.len()));
        let word = word.trim_end_matches(['.', ',']);
        let unit = if word.is_empty() {
            // Nothing follows it, and a unit stands before it.
            after.is_empty().then_some(()).and(smaller(below?))?
        } else {
            UNITS.iter().find(|(_, words)| words.contains(&word)).map(|(unit, _)| *unit)?
        };
        if below.is_some_and(|above| unit >= above) {
            return None;
        }
        seconds = seconds.checked_add(scaled(number, unit, Some(decimal_mark))?)?;
        below = Some(unit);
        rest = after.trim_start();
    }
    below.map(|_| seconds)
}

/// The unit below one.
fn smaller(unit: u64) -> Option<u64> {
    UNITS.iter().map(|(known, _)| *known).find(|known| *known < unit)
}

/// ISO 8601 with days at most, since a month has no length: `PT2H10M`, `P1DT30M`, `PT1.5H`.
fn iso(text: &str) -> Option<u64> {
    let text = text.to_ascii_uppercase();
    let (date, time) = match text.strip_prefix('P')?.split_once('T') {
        Some((_, "")) => return None,
        Some(parts) => parts,
        None => (text.strip_prefix('P')?, ""),
    };
    let weeks_and_days = [('W', 7 * DAY), ('D', DAY)];
    let times = [('H', HOUR), ('M', MINUTE), ('S', SECONDS)];
    let (first, second) = (designated(date, &weeks_and_days)?, designated(time, &times)?);
    (!(date.is_empty() && time.is_empty())).then_some(first.checked_add(second)?)
}

/// Numbers each followed by one of the letters, in their order.
fn designated(text: &str, letters: &[(char, u64)]) -> Option<u64> {
    let (mut rest, mut seconds) = (text, 0u64);
    for (letter, unit) in letters {
        if let Some((number, after)) = rest.split_once(*letter) {
            let mark = if number.contains(',') { b',' } else { b'.' };
            seconds = seconds.checked_add(scaled(number, *unit, Some(mark))?)?;
            rest = after;
        }
    }
    rest.is_empty().then_some(seconds)
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

fn digits(text: &str) -> Option<u64> {
    let fits = is_digits(text) && text.len() <= MOST_DIGITS;
    fits.then(|| text.parse().ok()).flatten()
}
