//! Days, months, weeks and fiscal quarters of the fleet, cut once and looked up by bisection.

use chrono::{Datelike, Days, Months, NaiveDate, Weekday};
use chrono_tz::Tz;

use super::day_start::day_start;
use super::local_day::local_day;

/// A fiscal quarter: four times the year in which its fiscal year begins, plus 0 to 3.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Quarter(pub i32);

impl Quarter {
    /// The quarter of a local day.
    pub fn of(day: NaiveDate, fiscal_year_starts: u32) -> Quarter {
        let months = day.year() * 12 + day.month0() as i32 - (fiscal_year_starts as i32 - 1);
        Quarter(months.div_euclid(3))
    }

    /// Its first day, none beyond the calendar's range.
    pub fn first_day(self, fiscal_year_starts: u32) -> Option<NaiveDate> {
        let months = self.0.checked_mul(3)?.checked_add(fiscal_year_starts as i32 - 1)?;
        NaiveDate::from_ymd_opt(months.div_euclid(12), months.rem_euclid(12) as u32 + 1, 1)
    }

    /// Reads `2026-Q3`.
    pub fn parse(text: &str) -> Option<Quarter> {
        let (year, quarter) = text.split_once("-Q")?;
        let written = |text: &str, digits: usize| {
            text.len() == digits && text.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !written(year, 4) || !written(quarter, 1) {
            return None;
        }
        let year: i32 = year.parse().ok().filter(|year| (1900..=2200).contains(year))?;
        let quarter: i32 = quarter.parse().ok().filter(|quarter| (1..=4).contains(quarter))?;
        Some(Quarter(year * 4 + quarter - 1))
    }
}

impl std::fmt::Display for Quarter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}-Q{}", self.0.div_euclid(4), self.0.rem_euclid(4) + 1)
    }
}

/// Rising instants that cut time into numbered pieces.
#[derive(Clone, Debug)]
pub struct Cuts {
    starts: Vec<i64>,
}

impl Cuts {
    /// The piece that holds `at`; none before the first cut or from the last on.
    pub fn piece(&self, at: i64) -> Option<u32> {
        let after = self.starts.partition_point(|start| *start <= at);
        (after > 0 && after < self.starts.len()).then(|| after as u32 - 1)
    }

    /// First instant of a piece.
    pub fn start(&self, piece: u32) -> i64 {
        self.starts[piece as usize]
    }

    /// How many pieces there are.
    pub fn count(&self) -> u32 {
        self.starts.len().saturating_sub(1) as u32
    }
}

/// The fleet's calendar over the years that its records span.
#[derive(Clone, Debug)]
pub struct Calendar {
    /// The fleet's zone: all pieces are cut in it.
    pub zone: Tz,
    first_quarter: Quarter,
    first_day: NaiveDate,
    fiscal_year_starts: u32,
    /// Fiscal quarters.
    pub quarters: Cuts,
    /// Calendar months.
    pub months: Cuts,
    /// Weeks from Monday.
    pub weeks: Cuts,
    /// Days.
    pub days: Cuts,
}

/// Longest span cut, years: beyond it records fall off every table instead of filling memory.
const LONGEST_YEARS: u32 = 15;

impl Calendar {
    /// A calendar of a zone, whose fiscal years start with the month `starts` (1 to 12), and whose quarters hold every
    /// instant from `first` to `last` (at most [`LONGEST_YEARS`] back from the last).
    pub fn spanning(zone: Tz, starts: u32, first: i64, last: i64) -> Calendar {
        let last_day = local_day(last, zone).clamp(date(1950), date(2200));
        let oldest =
            last_day.checked_sub_months(Months::new(12 * LONGEST_YEARS)).unwrap_or(last_day);
        let day = local_day(first, zone).clamp(oldest, last_day);
        let (from, to) = (Quarter::of(day, starts), Quarter(Quarter::of(last_day, starts).0 + 1));
        let first_day = from.first_day(starts).unwrap_or(day);
        let end_day = to.first_day(starts).unwrap_or(last_day);
        let cut = |days: &mut dyn Iterator<Item = NaiveDate>| Cuts {
            starts: days.map(|day| day_start(day, zone)).collect(),
        };
        let every = |start: NaiveDate, step: fn(NaiveDate) -> Option<NaiveDate>| {
            let mut next = Some(start);
            let mut over = false;
            std::iter::from_fn(move || {
                let day = next.filter(|_| !over)?;
                over = day >= end_day;
                next = step(day);
                Some(day)
            })
        };
        Calendar {
            zone,
            first_quarter: from,
            first_day,
            fiscal_year_starts: starts,
            quarters: cut(&mut every(first_day, |day| day.checked_add_months(Months::new(3)))),
            months: cut(&mut every(first_day, |day| day.checked_add_months(Months::new(1)))),
            weeks: cut(&mut every(monday(first_day), |day| day.checked_add_days(Days::new(7)))),
            days: cut(&mut every(first_day, |day| day.checked_add_days(Days::new(1)))),
        }
    }

    /// The quarter of a piece of `quarters`.
    pub fn quarter(&self, piece: u32) -> Quarter {
        Quarter(self.first_quarter.0 + piece as i32)
    }

    /// The piece of `quarters` that a quarter is, none outside the span.
    pub fn piece_of(&self, quarter: Quarter) -> Option<u32> {
        let piece = u32::try_from(quarter.0 - self.first_quarter.0).ok()?;
        (piece < self.quarters.count()).then_some(piece)
    }

    /// First instant of a quarter and of the one after it.
    pub fn span(&self, quarter: Quarter) -> Option<(i64, i64)> {
        let first = quarter.first_day(self.fiscal_year_starts)?;
        let after = Quarter(quarter.0 + 1).first_day(self.fiscal_year_starts)?;
        Some((day_start(first, self.zone), day_start(after, self.zone)))
    }

    /// The month of a piece of `months`, as `2026-03`.
    pub fn month(&self, piece: u32) -> String {
        let month = self.first_day.checked_add_months(Months::new(piece)).unwrap_or(self.first_day);
        month.format("%Y-%m").to_string()
    }

    /// The piece of `months` that a month is, given as twelve times its year plus 0 to 11.
    pub fn month_piece(&self, month: i32) -> Option<u32> {
        let first = self.first_day.year() * 12 + self.first_day.month0() as i32;
        u32::try_from(month - first).ok().filter(|piece| *piece < self.months.count())
    }

    /// The Monday of a piece of `weeks`, as `2026-03-02`.
    pub fn week(&self, piece: u32) -> String {
        let week = monday(self.first_day).checked_add_days(Days::new(7 * u64::from(piece)));
        week.unwrap_or(self.first_day).format("%Y-%m-%d").to_string()
    }
}

fn monday(day: NaiveDate) -> NaiveDate {
    day.week(Weekday::Mon).first_day()
}

fn date(year: i32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or_default()
}
