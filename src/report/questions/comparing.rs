//! Which rows of a question may be named: the firm, and those that surely lie apart from the fleet.

use crate::measures::{AnyRow, Leading, Review};

/// What a finding says where there is nothing to say it from.
pub(in crate::report) const NO_RECORDS: &str = "No records to answer this from.";

/// The row of the fleet, if it may headline.
pub(in crate::report) fn firm<R: AnyRow>(mut rows: impl Iterator<Item = R>) -> Option<R> {
    rows.find(|row| row.is_firm() && row.leading().estimate.is_some())
}

/// The firm row that is surely the lowest (by its high end) and lies below `value` with its whole interval.
pub(in crate::report) fn surely_below<R: AnyRow + Copy>(rows: &[R], value: f64) -> Option<R> {
    let high = |row: &R| row.leading().high.filter(|high| row.is_firm() && *high < value);
    let below = rows.iter().filter_map(|row| Some((row, high(row)?)));
    below.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(row, _)| *row)
}

/// The firm row that is surely the highest (by its low end) and lies above `value` with its whole interval.
pub(in crate::report) fn surely_above<R: AnyRow + Copy>(rows: &[R], value: f64) -> Option<R> {
    let low = |row: &R| row.leading().low.filter(|low| row.is_firm() && *low > value);
    let above = rows.iter().filter_map(|row| Some((row, low(row)?)));
    above.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(row, _)| *row)
}

/// How many intervals leave out the fleet's value, against what chance alone would do.
pub(in crate::report) fn apart(
    review: &Review,
    rows: &[impl AnyRow],
    value: f64,
    what: &str,
    fleet: &str,
) -> String {
    let rows = rows.iter().map(AnyRow::leading);
    let firm: Vec<Leading> = rows.filter(|row| row.is_firm() && row.estimate.is_some()).collect();
    let out = firm.iter().filter(|row| {
        row.low.is_some_and(|low| low > value) || row.high.is_some_and(|high| high < value)
    });
    let (out, all) = (out.count(), firm.len());
    let by_chance = (1.0 - review.level) * all as f64;
    if all < 2 {
        return format!("Too few {what} to compare with {fleet}");
    }
    if out == 0 {
        return format!("None of {all} {what} differs from {fleet} by more than chance");
    }
    let chance = crate::charts::number::fixed(by_chance, 1);
    let leave = if out == 1 { "its interval leaves" } else { "their intervals leave" };
    format!(
        "{out} of {all} {what}: {leave} out {fleet}; chance alone would do that to about {chance}"
    )
}
