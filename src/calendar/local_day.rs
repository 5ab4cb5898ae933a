//! Local days of many instants: remembers the last one, since exports are roughly in time order.

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use chrono_tz::Tz;

use super::day_start::day_start;
use super::lengths::HOUR_US;

/// The local day of an instant; instants outside chrono's range read as its ends.
pub fn local_day(at: i64, zone: Tz) -> NaiveDate {
    DateTime::<Utc>::from_timestamp_micros(at)
        .map_or(if at < 0 { NaiveDate::MIN } else { NaiveDate::MAX }, |at| {
            at.with_timezone(&zone).date_naive()
        })
}

/// A local day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LocalDay {
    /// First instant of the day, and of the next one.
    pub start: i64,
    /// First instant of the day after, microseconds UTC.
    pub next: i64,
    /// Days since 0001-01-01.
    pub number: i32,
    /// Twelve times the year, plus 0 to 11.
    pub month: i32,
}

impl LocalDay {
    /// Length in minutes (23, 24 or 25 hours, but for odd zones).
    pub fn minutes(&self) -> u16 {
        u16::try_from((self.next - self.start) / (HOUR_US / 60)).unwrap_or(1440)
    }
}

/// Looks days up in one zone.
pub struct Days {
    zone: Tz,
    last: LocalDay,
}

impl Days {
    /// Days of this zone.
    pub fn of(zone: Tz) -> Days {
        Days { zone, last: LocalDay { start: 0, next: 0, number: 0, month: 0 } }
    }

    /// The day that holds an instant.
    pub fn holding(&mut self, at: i64) -> LocalDay {
        if at < self.last.start || at >= self.last.next {
            let day = local_day(at, self.zone);
            let next = day.succ_opt().unwrap_or(day);
            self.last = LocalDay {
                start: day_start(day, self.zone),
                next: day_start(next, self.zone),
                number: day.num_days_from_ce(),
                month: day.year() * 12 + day.month0() as i32,
            };
        }
        self.last
    }
}
