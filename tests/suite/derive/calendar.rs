//! The calendar: quarters as written, and where days, weeks, months and quarters are cut.

use chrono::NaiveDate;
use chrono_tz::Tz;
use motetrail::derive::{Calendar, Quarter};
use proptest::prelude::*;

use super::seen::time;

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

fn instant(text: &str) -> i64 {
    let at = chrono::NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M:%S").unwrap();
    at.and_utc().timestamp_micros()
}

fn calendar(zone: Tz, fiscal_year_starts: u32, first: &str, last: &str) -> Calendar {
    Calendar::spanning(zone, fiscal_year_starts, instant(first), instant(last))
}

#[test]
fn a_quarter_reads_as_it_is_written() {
    let quarter = Quarter::parse("2026-Q3").unwrap();
    assert_eq!((quarter, quarter.to_string()), (Quarter(2026 * 4 + 2), "2026-Q3".to_owned()));
    let refused = [
        "2026-Q0", "2026-Q5", "2026-Q", "2026Q3", "2026-q3", "26-Q3", "1899-Q4", "2201-Q1", "",
        " 2026-Q3", "2026-Q3 ", "+2026-Q3", "2026-Q+3", "2026-Q03", "02026-Q3", "-2026-Q3",
    ];
    for text in refused {
        assert_eq!(Quarter::parse(text), None, "{text:?}");
    }
}

#[test]
fn the_fiscal_year_gives_its_quarters_the_year_in_which_it_begins() {
    let of = |date, starts| Quarter::of(date, starts).to_string();
    assert_eq!(of(day(2026, 3, 31), 4), "2025-Q4");
    assert_eq!(of(day(2026, 4, 1), 4), "2026-Q1");
    assert_eq!(of(day(2027, 1, 1), 4), "2026-Q4");
    assert_eq!(of(day(2026, 12, 31), 12), "2026-Q1");
    assert_eq!(of(day(2026, 11, 30), 12), "2025-Q4");
    assert_eq!(of(day(2026, 7, 1), 1), "2026-Q3");
}

proptest! {
    #[test]
    fn every_quarter_holds_its_days_and_round_trips(offset in 0i64..109_000, starts in 1u32..=12) {
        let date = day(1900, 12, 1) + chrono::Duration::days(offset);
        let quarter = Quarter::of(date, starts);
        prop_assert!(quarter.first_day(starts).unwrap() <= date);
        prop_assert!(Quarter(quarter.0 + 1).first_day(starts).unwrap() > date);
        prop_assert_eq!(Quarter::parse(&quarter.to_string()), Some(quarter));
    }
}

#[test]
fn days_of_a_clock_change_have_23_and_25_hours() {
    // Vienna 2026: 29 March and 25 October (Directive 2000/84/EC).
    let calendar = calendar(Tz::Europe__Vienna, 1, "2026-01-10 00:00:00", "2026-12-20 00:00:00");
    let hours = |at: &str| {
        let piece = calendar.days.piece(instant(at)).unwrap();
        (calendar.days.start(piece + 1) - calendar.days.start(piece)) / 3_600_000_000
    };
    assert_eq!(hours("2026-03-29 12:00:00"), 23);
    assert_eq!(hours("2026-10-25 12:00:00"), 25);
    assert_eq!(hours("2026-10-26 12:00:00"), 24);
    assert_eq!(calendar.days.count(), 365);
}

#[test]
fn a_day_whose_midnight_a_clock_change_swallows_begins_after_the_gap() {
    // Sao Paulo 2018: the clocks went from 00:00 to 01:00 on 4 November (IANA time zone database).
    let zone = Tz::America__Sao_Paulo;
    let calendar = calendar(zone, 1, "2018-10-10 00:00:00", "2018-12-20 00:00:00");
    let before = calendar.days.piece(instant("2018-11-04 02:59:59")).unwrap();
    assert_eq!(time(calendar.days.start(before + 1)), "2018-11-04 03:00:00");
}

#[test]
fn a_day_that_a_zone_left_out_takes_no_time() {
    // Apia went from the end of 29 December 2011 to 31 December (IANA time zone database).
    let calendar = calendar(Tz::Pacific__Apia, 1, "2011-12-01 00:00:00", "2011-12-31 12:00:00");
    let last = calendar.days.piece(instant("2011-12-30 09:59:59")).unwrap();
    assert_eq!(time(calendar.days.start(last)), "2011-12-29 10:00:00");
    assert_eq!(time(calendar.days.start(last + 1)), "2011-12-30 10:00:00");
    assert_eq!(time(calendar.days.start(last + 2)), "2011-12-30 10:00:00");
}

#[test]
fn an_instant_lies_in_the_piece_that_begins_with_it_and_outside_in_none() {
    let calendar = calendar(Tz::UTC, 1, "2026-02-10 00:00:00", "2026-05-20 00:00:00");
    let quarter = |at: &str| {
        let piece = calendar.quarters.piece(instant(at));
        piece.map_or("none".to_owned(), |piece| calendar.quarter(piece).to_string())
    };
    assert_eq!(quarter("2025-12-31 23:59:59"), "none");
    assert_eq!(quarter("2026-01-01 00:00:00"), "2026-Q1");
    assert_eq!(quarter("2026-03-31 23:59:59"), "2026-Q1");
    assert_eq!(quarter("2026-04-01 00:00:00"), "2026-Q2");
    assert_eq!(quarter("2026-06-30 23:59:59"), "2026-Q2");
    assert_eq!(quarter("2026-07-01 00:00:00"), "none");
    assert_eq!((calendar.quarters.count(), calendar.months.count()), (2, 6));
}

#[test]
fn months_and_weeks_are_written_by_their_first_days() {
    let calendar = calendar(Tz::UTC, 1, "2026-01-10 00:00:00", "2026-03-20 00:00:00");
    let month = calendar.months.piece(instant("2026-02-28 23:59:59")).unwrap();
    assert_eq!(calendar.month(month), "2026-02");
    assert_eq!(calendar.month_piece(2026 * 12 + 1), Some(month));
    assert_eq!(calendar.month_piece(2025 * 12 + 11), None);
    assert_eq!(calendar.month_piece(2026 * 12 + 3), None);
    // 1 January 2026 was a Thursday; its week began on 29 December.
    let week = |at: &str| calendar.week(calendar.weeks.piece(instant(at)).unwrap());
    assert_eq!(week("2026-01-01 00:00:00"), "2025-12-29");
    assert_eq!(week("2026-01-04 23:59:59"), "2025-12-29");
    assert_eq!(week("2026-01-05 00:00:00"), "2026-01-05");
    assert_eq!(week("2026-03-31 23:59:59"), "2026-03-30");
}

#[test]
fn pieces_and_quarters_find_each_other() {
    let calendar = calendar(Tz::UTC, 4, "2025-02-10 00:00:00", "2026-05-20 00:00:00");
    for piece in 0..calendar.quarters.count() {
        let quarter = calendar.quarter(piece);
        assert_eq!(calendar.piece_of(quarter), Some(piece));
        assert_eq!(calendar.span(quarter).unwrap().0, calendar.quarters.start(piece));
    }
    assert_eq!(calendar.piece_of(Quarter(calendar.quarter(0).0 - 1)), None);
}

#[test]
fn absurdly_old_records_fall_off_the_calendar_instead_of_filling_memory() {
    let calendar = calendar(Tz::UTC, 1, "0001-01-01 00:00:00", "2026-05-20 00:00:00");
    assert_eq!(calendar.quarter(0).to_string(), "2011-Q2");
    assert_eq!(calendar.quarters.piece(instant("1900-01-01 00:00:00")), None);
}
