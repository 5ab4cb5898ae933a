//! Takes the fields of a date or time out of a text, one step of its pattern after the other.

use super::calendar::{days, month_length};
use super::month_names::leading_month;
use super::steps::{DAY_MICROS, Misfit, Reading, Step};

/// What the steps have read so far.
#[derive(Default)]
struct Parts {
    year: i64,
    month: i64,
    day: i64,
    hour: i64,
    half: Option<i64>,
    minute: i64,
    second: i64,
    micros: i64,
    /// Seconds east of UTC.
    offset: Option<i64>,
}

/// Reads a text step by step. Each step comes with whether the next one claims what follows: its
/// digits run into the next one's, or the dot behind its name is the pattern's own.
///
/// # Errors
/// [`Misfit`] says how far it got.
pub fn read_steps(
    steps: &[(Step, bool)],
    has_hour: bool,
    mut text: &[u8],
) -> Result<Reading, Misfit> {
    let mut parts = Parts::default();
    for &(step, runs_on) in steps {
        take(step, runs_on, &mut text, &mut parts).ok_or(Misfit::Shape)?;
    }
    if !text.is_empty() {
        return Err(Misfit::Shape);
    }
    parts.reading(has_hour).ok_or(Misfit::Impossible)
}

fn take(step: Step, runs_on: bool, text: &mut &[u8], parts: &mut Parts) -> Option<()> {
    let least = if runs_on { 2 } else { 1 };
    match step {
        Step::Literal(byte) => *text = text.strip_prefix(&[byte])?,
        Step::Year => parts.year = digits(text, 4, 4)?,
        Step::ShortYear(first) => {
            let first = i64::from(first);
            parts.year = first + (digits(text, 2, 2)? - first).rem_euclid(100);
        }
        Step::Month => parts.month = digits(text, least, 2)?,
        Step::MonthName => parts.month = month_name(text, runs_on)?,
        Step::Day => parts.day = digits(text, least, 2)?,
        Step::Hour => parts.hour = digits(text, least, 2)?,
        Step::HalfDayHour => {
            let hour = digits(text, least, 2)?;
            // 13 o'clock does not exist on this dial: the check of the hour refuses 24 and above.
            parts.hour = if (1..=12).contains(&hour) { hour % 12 } else { 24 };
        }
        Step::Half => parts.half = Some(half(text)?),
        Step::Minute => parts.minute = digits(text, 2, 2)?,
        Step::Second => parts.second = digits(text, 2, 2)?,
        Step::Fraction => parts.micros = fraction(text)?,
        Step::Offset => parts.offset = Some(offset(text)?),
    }
    Some(())
}

impl Parts {
    fn reading(&self, has_hour: bool) -> Option<Reading> {
        let fits = (1..=12).contains(&self.month)
            && (1..=month_length(self.year, self.month)).contains(&self.day)
            && self.hour < 24
            && self.minute < 60
            && self.second < 60;
        if !fits {
            return None;
        }
        let day = days(self.year, self.month, self.day);
        if !has_hour {
            return Some(Reading::Day(day));
        }
        let hour = self.hour + 12 * self.half.unwrap_or(0);
        let micros = ((hour * 60 + self.minute) * 60 + self.second) * 1_000_000 + self.micros;
        Some(match self.offset {
            Some(offset) => Reading::Instant(day * DAY_MICROS + micros - offset * 1_000_000),
            None => Reading::Local { day, micros },
        })
    }
}

/// Takes `least` to `most` digits.
fn digits(text: &mut &[u8], least: usize, most: usize) -> Option<i64> {
    let (mut value, mut taken) = (0, 0);
    while taken < most && text.get(taken).is_some_and(u8::is_ascii_digit) {
        value = value * 10 + i64::from(text[taken] - b'0');
        taken += 1;
    }
    *text = &text[taken..];
    (taken >= least).then_some(value)
}

fn fraction(text: &mut &[u8]) -> Option<i64> {
    let before = text.len();
    let value = digits(text, 1, 9)?;
    let taken = (before - text.len()) as u32;
    Some(value * 10i64.pow(9 - taken) / 1000)
}

fn month_name(text: &mut &[u8], dot_is_claimed: bool) -> Option<i64> {
    let (month, length) = leading_month(text)?;
    let rest = &text[length..];
    *text = if dot_is_claimed { rest } else { rest.strip_prefix(b".").unwrap_or(rest) };
    Some(month)
}

/// AM or PM, as letters alone or each with a dot: 0 or 1.
fn half(text: &mut &[u8]) -> Option<i64> {
    let half = match text.first()?.to_ascii_lowercase() {
        b'a' => 0,
        b'p' => 1,
        _ => return None,
    };
    let rest = &text[1..];
    let (dotted, rest) = match rest.strip_prefix(b".") {
        Some(rest) => (true, rest),
        None => (false, rest),
    };
    let rest = rest.strip_prefix(b"m").or_else(|| rest.strip_prefix(b"M"))?;
    *text = if dotted { rest.strip_prefix(b".").unwrap_or(rest) } else { rest };
    Some(half)
}

fn offset(text: &mut &[u8]) -> Option<i64> {
    if let Some(rest) = text.strip_prefix(b"Z") {
        *text = rest;
        return Some(0);
    }
    let sign = match text.first()? {
        b'+' => 1,
        b'-' => -1,
        _ => return None,
    };
    *text = &text[1..];
    let hours = digits(text, 2, 2)?;
    let mut minutes = 0;
    if let Some(rest) = text.strip_prefix(b":") {
        *text = rest;
        minutes = digits(text, 2, 2)?;
    } else if text.first().is_some_and(u8::is_ascii_digit) {
        minutes = digits(text, 2, 2)?;
    }
    (hours <= 18 && minutes < 60).then_some(sign * (hours * 60 + minutes) * 60)
}
