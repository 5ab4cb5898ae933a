//! Lengths of time, each once.
//!
//! A name ends in the unit that it is counted in: `_S` seconds, `_MS` milliseconds, `_US` microseconds. Days are those
//! of 24 hours; how long a day of a zone is, [`super::LocalDay`] says.

/// Seconds of an hour.
pub const HOUR_S: i64 = 3_600;
/// Seconds of a day.
pub const DAY_S: i64 = 24 * HOUR_S;
/// Milliseconds of an hour.
pub const HOUR_MS: i64 = 1_000 * HOUR_S;
/// Milliseconds of a day.
pub const DAY_MS: i64 = 1_000 * DAY_S;
/// Microseconds of a second.
pub const SECOND_US: i64 = 1_000_000;
/// Microseconds of an hour.
pub const HOUR_US: i64 = HOUR_S * SECOND_US;
/// Microseconds of a day.
pub const DAY_US: i64 = DAY_S * SECOND_US;
/// Hours of a connection-month: a twelfth of a year of 365.25 days.
pub const MONTH_HOURS: f64 = 730.5;
/// Seconds of a connection-month.
pub const MONTH_S: f64 = MONTH_HOURS * HOUR_S as f64;

/// Days of 24 hours in a span of time at risk; a negative span has none.
pub fn days_of(seconds: i64) -> f64 {
    seconds.max(0) as f64 / DAY_S as f64
}
