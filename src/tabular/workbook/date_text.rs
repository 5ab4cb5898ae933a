//! Serial dates, ISO dates and durations as a cell's text.

use chrono::{Days, NaiveDate};

use super::number_format::Shows;
use crate::calendar::{self, HOUR_MS, HOUR_S};
use crate::tabular::value_text::number_text;

const DAY_MS: f64 = calendar::DAY_MS as f64;

/// First serial number beyond the year 9999, in the system of 1900.
const BEYOND: f64 = 2_958_466.0;

/// The text of a serial date: `2026-03-05` where the format shows no time and there is none,
/// `08:15:00` where it shows no day and there is none, else `2026-03-05T08:15:00`: what the format
/// hides is still given, since it is in the file. Rounded to milliseconds, which is finer than the
/// serial number. A number that is no date of the years to 9999 stays a number.
///
/// In the system of 1900 the number 60 is the 29th of February 1900, which never was; the text says
/// so, and no date pattern takes it.
///
/// Source: ECMA-376 part 1, 18.17.4.1 (serial dates; both systems).
pub fn serial_text(serial: f64, from_1904: bool, shows: Shows) -> String {
    if !(0.0..BEYOND).contains(&serial) {
        return number_text(serial);
    }
    let milliseconds = (serial * DAY_MS).round();
    let day = (milliseconds / DAY_MS).floor();
    // Both below 2^53 and not negative: exact.
    let (day, of_day) = (day as u64, (milliseconds - day * DAY_MS) as i64);
    let time = clock(of_day);
    if shows == Shows::Time && day == 0 {
        return time;
    }
    let Some(date) = date_text(day, from_1904) else { return number_text(serial) };
    if shows == Shows::Day && of_day == 0 { date } else { format!("{date}T{time}") }
}

fn date_text(day: u64, from_1904: bool) -> Option<String> {
    let (year, month, first) = match (from_1904, day) {
        (true, _) => (1904, 1, 1),
        (false, 0..60) => (1899, 12, 31),
        (false, 60) => return Some("1900-02-29".to_owned()),
        (false, _) => (1899, 12, 30),
    };
    let start = NaiveDate::from_ymd_opt(year, month, first)?;
    let date = start.checked_add_days(Days::new(day))?;
    Some(date.format("%Y-%m-%d").to_string())
}

/// Hours may be more than 24.
fn clock(milliseconds: i64) -> String {
    let (seconds, rest) = (milliseconds / 1000, milliseconds % 1000);
    let fraction = if rest == 0 { String::new() } else { format!(".{rest:03}") };
    format!("{:02}:{:02}:{:02}{fraction}", seconds / HOUR_S, seconds / 60 % 60, seconds % 60)
}

/// The text of a duration in days: `26:15:00`, `-00:30:00`.
pub fn duration_text(days: f64) -> String {
    let milliseconds = (days * DAY_MS).round();
    if milliseconds.is_nan() || milliseconds.abs() > BEYOND * DAY_MS {
        return number_text(days);
    }
    let sign = if milliseconds < 0.0 { "-" } else { "" };
    format!("{sign}{}", clock(milliseconds.abs() as i64))
}

/// The text of an ISO date as a file writes it, without a fraction of a second that is nought.
pub fn iso_date_text(written: &str) -> String {
    let Some((whole, fraction)) = written.split_once('.') else { return written.to_owned() };
    let digits = fraction.bytes().take_while(u8::is_ascii_digit).count();
    let (digits, zone) = fraction.split_at(digits);
    match digits.trim_end_matches('0') {
        "" => format!("{whole}{zone}"),
        kept => format!("{whole}.{kept}{zone}"),
    }
}

/// The text of an ISO duration such as `PT08H15M00S`; one that is written otherwise is left as it is.
pub fn iso_duration_text(written: &str) -> String {
    duration_milliseconds(written).map_or_else(
        || written.to_owned(),
        |(sign, milliseconds)| format!("{sign}{}", clock(milliseconds)),
    )
}

/// Sign and length of an ISO duration of days, hours, minutes and seconds.
fn duration_milliseconds(written: &str) -> Option<(&'static str, i64)> {
    let (sign, rest) = written.strip_prefix('-').map_or(("", written), |rest| ("-", rest));
    let (mut sum, mut number) = (0.0, String::new());
    for letter in rest.strip_prefix('P')?.chars() {
        let unit = match letter {
            'T' if number.is_empty() => continue,
            '0'..='9' | '.' => {
                number.push(letter);
                continue;
            }
            'D' => DAY_MS,
            'H' => HOUR_MS as f64,
            'M' => 60_000.0,
            'S' => 1000.0,
            _ => return None,
        };
        sum += number.parse::<f64>().ok()? * unit;
        number.clear();
    }
    (number.is_empty() && sum < BEYOND * DAY_MS).then_some((sign, sum.round() as i64))
}
