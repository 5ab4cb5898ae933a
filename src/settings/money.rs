//! Amounts of money as they are typed: minor units, exactly.

use super::place::Place;
use super::problems::Problems;

/// Largest amount, in major units: far above any price, and below it the shortest decimal text of
/// an `f64` is the one that was typed, at two places and more.
pub(in crate::settings) const MOST_MONEY: f64 = 1e12;

pub fn money(number: f64, place: &Place, problems: &mut Problems) -> i64 {
    let minor = (0.0..=MOST_MONEY).contains(&number).then(|| minor_units(&number.to_string()));
    minor.flatten().unwrap_or_else(|| {
        let wanted = format!("expected an amount from 0 to {MOST_MONEY} with at most 2 decimals");
        problems.add(place, format!("found {number}, {wanted}"));
        0
    })
}

/// Minor units of a decimal text with `.`, digits only; by its digits, so that no rounding enters.
/// None: no such text, more than two decimals, or too large.
pub fn minor_units(text: &str) -> Option<i64> {
    let (major, minor) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(major) || !digits(minor) || minor.len() > 2 {
        return None;
    }
    let hundredths: i64 = format!("{minor:0<2}").parse().ok()?;
    major.parse::<i64>().ok()?.checked_mul(100)?.checked_add(hundredths)
}
