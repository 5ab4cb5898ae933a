//! Patterns of dates and times, and reading a text by one.
//!
//! A pattern is compiled once. Reading checks everything: shape, month, day of that month, hour.
//! A day ends before midnight and a minute has sixty seconds: 24:00 and a leap second (:60) are
//! refused, since the moment they mean has another writing and a clock that shows them is rarely
//! right. Knows nothing of zones.

mod calendar;
mod month_names;
mod scan;
mod steps;

pub use month_names::{MONTH_NAMES, month_of};
pub use steps::{DAY_MICROS, Fields, Misfit, Reading};

use scan::read_steps;
use steps::Step;

/// A compiled pattern.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// Seconds since 1970 in UTC.
    EpochSeconds,
    /// Milliseconds since 1970 in UTC.
    EpochMilliseconds,
    /// A strftime-like pattern.
    Fields(Fields),
}

/// First and last microsecond of the years 0 to 9999, the span of four digits.
const SPAN: [i64; 2] = [-719_528 * DAY_MICROS, 2_932_897 * DAY_MICROS - 1];
/// Latest first year of a hundred years within that span.
const LAST_PIVOT: i16 = 9900;

impl Pattern {
    /// Compiles a pattern: `%Y %y %m %b %d %H %I %p %M %S %f %z %%`, other characters standing for
    /// themselves; or `epoch-s`, `epoch-ms`.
    ///
    /// `pivot` is the first of the hundred years that `%y` means, 0 to 9900: with 1970, 70 to 99 are
    /// 1970 to 1999 and 00 to 69 are 2000 to 2069. Nobody can know it from the two digits, so that
    /// `%y` without one is refused.
    ///
    /// # Errors
    /// Says what is wrong with the pattern.
    pub fn compile(pattern: &str, pivot: Option<i64>) -> Result<Self, String> {
        match pattern {
            "epoch-s" => return Ok(Self::EpochSeconds),
            "epoch-ms" => return Ok(Self::EpochMilliseconds),
            _ => {}
        }
        let mut steps = Vec::new();
        let mut bytes = pattern.bytes();
        while let Some(byte) = bytes.next() {
            steps.push(if byte == b'%' {
                step(bytes.next(), pattern, pivot)?
            } else {
                Step::Literal(byte)
            });
        }
        let has_hour = whole(&steps).ok_or_else(|| {
            format!(
                "found the pattern {pattern:?}, expected a year, a month, a day and, for a time, \
                 an hour (with %p after %I)"
            )
        })?;
        let claims = |(at, step): (usize, &Step)| match (step, steps.get(at + 1)) {
            (_, None) => false,
            (Step::MonthName, Some(next)) => *next == Step::Literal(b'.'),
            (_, Some(next)) => next.is_number(),
        };
        let steps = steps.iter().copied().zip(steps.iter().enumerate().map(claims)).collect();
        Ok(Self::Fields(Fields { steps, has_hour }))
    }

    /// Reads a text by it.
    ///
    /// # Errors
    /// [`Misfit`] says how far it got.
    pub fn read(&self, text: &str) -> Result<Reading, Misfit> {
        match self {
            Self::EpochSeconds => epoch(text, 1_000_000),
            Self::EpochMilliseconds => epoch(text, 1_000),
            Self::Fields(fields) => read_steps(&fields.steps, fields.has_hour, text.as_bytes()),
        }
    }
}

/// A count since 1970, each so many microseconds long: an optional sign and digits.
fn epoch(text: &str, micros: i64) -> Result<Reading, Misfit> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(Misfit::Shape);
    }
    let count: i64 = text.parse().map_err(|_| Misfit::Impossible)?;
    let instant = count.checked_mul(micros).filter(|at| (SPAN[0]..=SPAN[1]).contains(at));
    instant.map(Reading::Instant).ok_or(Misfit::Impossible)
}

/// Whether the steps give a time; none if they do not even give a day, or half of an hour.
fn whole(steps: &[Step]) -> Option<bool> {
    let count = |wanted: &[Step]| steps.iter().filter(|step| wanted.contains(step)).count();
    let day = steps.iter().filter(|step| step.is_year()).count() == 1
        && count(&[Step::Month, Step::MonthName]) == 1
        && count(&[Step::Day]) == 1;
    let (hours, halves) = (count(&[Step::Hour, Step::HalfDayHour]), count(&[Step::Half]));
    let finer = count(&[Step::Minute, Step::Second, Step::Fraction]);
    match (hours, halves) {
        _ if !day => None,
        (0, 0) if finer == 0 => Some(false),
        (1, 0) if count(&[Step::Hour]) == 1 => Some(true),
        (1, 1) if count(&[Step::HalfDayHour]) == 1 => Some(true),
        _ => None,
    }
}

fn step(letter: Option<u8>, pattern: &str, pivot: Option<i64>) -> Result<Step, String> {
    Ok(match letter {
        Some(b'Y') => Step::Year,
        Some(b'y') => short_year(pattern, pivot)?,
        Some(b'm') => Step::Month,
        Some(b'b') => Step::MonthName,
        Some(b'd') => Step::Day,
        Some(b'H') => Step::Hour,
        Some(b'I') => Step::HalfDayHour,
        Some(b'p') => Step::Half,
        Some(b'M') => Step::Minute,
        Some(b'S') => Step::Second,
        Some(b'f') => Step::Fraction,
        Some(b'z') => Step::Offset,
        Some(b'%') => Step::Literal(b'%'),
        _ => {
            return Err(format!(
                "found the pattern {pattern:?}, expected only %Y %y %m %b %d %H %I %p %M %S %f %z %%"
            ));
        }
    })
}

fn short_year(pattern: &str, pivot: Option<i64>) -> Result<Step, String> {
    let Some(first) = pivot else {
        return Err(format!(
            "found %y in {pattern:?}, expected the first of the hundred years that it means"
        ));
    };
    let within = i16::try_from(first).ok().filter(|first| (0..=LAST_PIVOT).contains(first));
    within.map(Step::ShortYear).ok_or_else(|| {
        format!("found {first} as the first year that %y means, expected 0 to {LAST_PIVOT}")
    })
}
