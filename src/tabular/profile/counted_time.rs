//! Whole numbers that may count time: seconds or milliseconds since 1970, days of a spreadsheet.

use super::date_fit::{DateFit, DayMonth};
use super::number_tally::NumberTally;

/// Seconds since 1970 of the starts of 1990 and 2100.
const YEARS: std::ops::Range<i64> = 631_152_000..4_102_444_800;
/// Days that spreadsheets count to the starts of 2000 and 2051 (day 1 is 1900-01-01, with a
/// 29 February 1900 that never was; ISO/IEC 29500-1:2016, 18.17.4.1 [section from memory]).
const SERIALS: std::ops::Range<i64> = 36_526..55_154;
/// Fewer numbers are no sign.
const ENOUGH: usize = 3;

/// Reading of a column of numbers, all of them whole, as a count since 1970; a slip that is no number does not change it.
pub fn epoch(numbers: &NumberTally, given: usize) -> Option<DateFit> {
    let (least, most) = numbers.whole_range().filter(|_| numbers.are_nearly_all(given))?;
    let found = numbers.numbers;
    let within = |factor: i64| {
        YEARS.contains(&least.div_euclid(factor)) && YEARS.contains(&most.div_euclid(factor))
    };
    let (pattern, unit) = match (within(1), within(1000)) {
        (true, _) => ("epoch-s", "seconds"),
        (_, true) => ("epoch-ms", "milliseconds"),
        _ => return None,
    };
    Some(DateFit {
        patterns: vec![pattern.to_owned()],
        fits: found,
        given,
        order: DayMonth::YearFirst,
        evidence: format!(
            "all {found} whole numbers lie between {least} and {most}: as {unit} since 1970 they are \
             times from 1990 to 2099"
        ),
        zoned: true,
        short_years: false,
    })
}

/// Says that a column may count days as spreadsheets do.
pub fn serial_doubt(numbers: &NumberTally, given: usize) -> Option<String> {
    let (least, most) = numbers.range?;
    let all = numbers.numbers == given && numbers.numbers >= ENOUGH;
    (all && SERIALS.contains(&least) && SERIALS.contains(&most)).then(|| {
        format!(
            "Numbers from {least} to {most} may be days as spreadsheets count them (2000 to 2050); no \
             pattern reads these, export the column as dates."
        )
    })
}
