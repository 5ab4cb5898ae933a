//! The steps of a pattern, and what comes of reading a text by them.

/// One step of a pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::tabular) enum Step {
    Year,
    /// Two digits of the hundred years that begin with this one. Sixteen bits, since steps are read
    /// through for every time of an export and should stay small.
    ShortYear(i16),
    Month,
    /// Name of a month, short or long, see [`month_of`].
    MonthName,
    Day,
    Hour,
    /// 1 to 12.
    HalfDayHour,
    /// AM or PM, also written a.m. or p.m.
    Half,
    Minute,
    Second,
    /// One to nine digits; what is finer than a microsecond is cut off.
    Fraction,
    /// `Z`, `+01:00`, `+0100` or `+01`.
    Offset,
    Literal(u8),
}

impl Step {
    pub(super) fn is_number(self) -> bool {
        !matches!(self, Self::MonthName | Self::Half | Self::Offset | Self::Literal(_))
    }

    pub(super) fn is_year(self) -> bool {
        matches!(self, Self::Year | Self::ShortYear(_))
    }
}

/// The steps of a strftime-like pattern.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fields {
    /// Each with whether the next one claims what would else be this one's: digits that run into
    /// the next digits must be complete, and the dot behind a month's name is the pattern's own.
    pub(super) steps: Vec<(Step, bool)>,
    pub(super) has_hour: bool,
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
