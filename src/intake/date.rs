//! Patterns of dates and times, and reading a text by one.
//!
//! A pattern is compiled once. Reading checks everything: shape, month, day of that month, hour.
//! Knows nothing of zones: see `zone`.

use super::scan::read_steps;

/// One step of a pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    Year,
    /// Two digits: 69 to 99 are 1969 to 1999, 00 to 68 are 2000 to 2068 (as in POSIX).
    ShortYear,
    Month,
    /// First three letters of its English name.
    MonthName,
    Day,
    Hour,
    /// 1 to 12.
    HalfDayHour,
    /// AM or PM.
    Half,
    Minute,
    Second,
    /// One to nine digits; what is finer than a microsecond is cut off.
    Fraction,
    /// `Z`, `+01:00`, `+0100` or `+01`.
    Offset,
    Literal(u8),
}

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

/// The steps of a strftime-like pattern.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fields {
    /// Each with whether its digits run into the next one's, and so must be complete.
    steps: Vec<(Step, bool)>,
    has_hour: bool,
}

/// A time as read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// Microseconds since 1970 in UTC.
    Instant(i64),
    /// Days since 1970 and microseconds of the day, by the local clock.
    Local { day: i64, micros: i64 },
    /// Days since 1970, by the local calendar.
    Day(i64),
}

/// Why a text is no time by a pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Misfit {
    /// It is not written so.
    Shape,
    /// It is, but there is no such day or time of day.
    Impossible,
}

/// Microseconds of a day without a clock change.
pub const DAY_MICROS: i64 = 86_400_000_000;
/// First and last microsecond of the years 0 to 9999, the span of four digits.
const SPAN: [i64; 2] = [-719_528 * DAY_MICROS, 2_932_897 * DAY_MICROS - 1];

impl Pattern {
    /// Compiles a pattern: `%Y %y %m %b %d %H %I %p %M %S %f %z %%`, other characters standing for
    /// themselves; or `epoch-s`, `epoch-ms`.
    ///
    /// # Errors
    /// Says what is wrong with the pattern.
    pub fn compile(pattern: &str) -> Result<Self, String> {
        match pattern {
            "epoch-s" => return Ok(Self::EpochSeconds),
            "epoch-ms" => return Ok(Self::EpochMilliseconds),
            _ => {}
        }
        let mut steps = Vec::new();
        let mut bytes = pattern.bytes();
        while let Some(byte) = bytes.next() {
            steps.push(if byte == b'%' {
                step(bytes.next(), pattern)?
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
        let next = steps.iter().skip(1).map(|step| step.is_number()).chain([false]);
        let steps = steps.iter().copied().zip(next).collect();
        Ok(Self::Fields(Fields { steps, has_hour }))
    }

    /// Reads a text by it.
    ///
    /// # Errors
    /// [`Misfit`] says how far it got.
    pub fn read(&self, text: &str) -> Result<Reading, Misfit> {
        let epoch = |factor: i64| {
            let count = super::number::integer(text).ok_or(Misfit::Shape)?;
            let micros = count.checked_mul(factor).ok_or(Misfit::Impossible)?;
            let within = (SPAN[0]..=SPAN[1]).contains(&micros);
            if within { Ok(Reading::Instant(micros)) } else { Err(Misfit::Impossible) }
        };
        match self {
            Self::EpochSeconds => epoch(1_000_000),
            Self::EpochMilliseconds => epoch(1_000),
            Self::Fields(fields) => read_steps(&fields.steps, fields.has_hour, text.as_bytes()),
        }
    }
}

impl Step {
    fn is_number(self) -> bool {
        !matches!(self, Self::MonthName | Self::Half | Self::Offset | Self::Literal(_))
    }
}

/// Whether the steps give a time; none if they do not even give a day, or half of an hour.
fn whole(steps: &[Step]) -> Option<bool> {
    let count = |wanted: &[Step]| steps.iter().filter(|step| wanted.contains(step)).count();
    let day = count(&[Step::Year, Step::ShortYear]) == 1
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

fn step(letter: Option<u8>, pattern: &str) -> Result<Step, String> {
    Ok(match letter {
        Some(b'Y') => Step::Year,
        Some(b'y') => Step::ShortYear,
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
