//! Days of the proleptic Gregorian calendar as numbers.

/// Days since 1970-01-01 of a day that exists, years 0 to 9999.
///
/// Years are counted from March, so that the leap day comes last and month lengths follow
/// 153 days in five months; 400 years have 146,097 days.
/// Source: Hinnant (2013), "chrono-Compatible Low-Level Date Algorithms", days_from_civil
/// [from memory]; checked against chrono all over the span in the tests.
pub fn days(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let month_from_march = (month + 9) % 12;
    let of_year = (153 * month_from_march + 2) / 5 + day - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

/// Days of a month, 1 to 12.
pub fn month_length(year: i64, month: i64) -> i64 {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}
