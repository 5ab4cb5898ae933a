//! Numbers and moments as a cell's text.

use chrono::{DateTime, TimeDelta};

/// Numbers from here on are written with an exponent: beyond it no digit before the point is exact.
const EXPONENT_FROM: f64 = 1e21;

/// The shortest decimal text that gives the same number again: `5`, `0.1`, `-2.5`, `1e300`.
pub fn number_text(number: f64) -> String {
    let small = number != 0.0 && number.abs() < 1e-15;
    if number == 0.0 {
        "0".to_owned()
    } else if number.is_finite() && (small || number.abs() >= EXPONENT_FROM) {
        format!("{number:e}")
    } else {
        number.to_string()
    }
}

/// The text of a moment, given by its distance to the beginning of 1970: `2026-03-05T08:15:00`, with
/// a fraction of a second where there is one. None beyond the years of a calendar.
pub fn moment_text(since_1970: TimeDelta) -> Option<String> {
    let moment = DateTime::UNIX_EPOCH.naive_utc().checked_add_signed(since_1970)?;
    Some(moment.format("%Y-%m-%dT%H:%M:%S%.f").to_string())
}
