use chrono_tz::Tz;
use motetrail::records::Table;
use motetrail::settings::{ClockChange, Source};

use super::fixture::{With, looks, read, source};

fn looks_at(pattern: &[&str], zone: &str, rule: ClockChange) -> Source {
    let mut source = source(vec![looks().dates("at", pattern)]);
    (source.timezone, source.clock_change) = (zone.parse::<Tz>().unwrap(), rule);
    source
}

/// The time of a text in UTC and its precision; none where it is rejected.
fn at(source: &Source, text: &str) -> Option<String> {
    let kept = read(source, &format!("At;Port;Result\n{text};P;OK\n"));
    let times = kept.column(Table::Inspections, "at");
    let precisions = kept.column(Table::Inspections, "at_precision");
    times.first().map(|time| format!("{time} {}", precisions[0]))
}

#[test]
fn local_times_follow_the_zone_on_both_sides_of_a_clock_change() {
    // Vienna, 2026: clocks go forward on 29 March at 02:00, back on 25 October at 03:00
    // (EU directive 2000/84/EC: 01:00 UTC of the last Sundays).
    let vienna = looks_at(&["%d.%m.%Y %H:%M"], "Europe/Vienna", ClockChange::Quarantine);
    let cases = [
        ("29.03.2026 01:59", Some("2026-03-29T00:59:00Z instant")),
        ("29.03.2026 02:00", None),
        ("29.03.2026 02:59", None),
        ("29.03.2026 03:00", Some("2026-03-29T01:00:00Z instant")),
        ("25.10.2026 01:59", Some("2026-10-24T23:59:00Z instant")),
        ("25.10.2026 02:00", None),
        ("25.10.2026 02:59", None),
        ("25.10.2026 03:00", Some("2026-10-25T02:00:00Z instant")),
        ("01.07.2026 12:00", Some("2026-07-01T10:00:00Z instant")),
        ("1.1.1950 0:05", Some("1949-12-31T23:05:00Z instant")),
    ];
    for (text, time) in cases {
        assert_eq!(at(&vienna, text).as_deref(), time, "{text}");
    }
}

#[test]
fn the_rule_for_clock_changes_chooses_the_reading_of_a_double_hour_only() {
    let rules = [
        (ClockChange::Earlier, "2026-10-25T00:30:00Z instant"),
        (ClockChange::Later, "2026-10-25T01:30:00Z instant"),
    ];
    for (rule, time) in rules {
        let vienna = looks_at(&["%d.%m.%Y %H:%M"], "Europe/Vienna", rule);
        assert_eq!(at(&vienna, "25.10.2026 02:30").as_deref(), Some(time));
        assert_eq!(at(&vienna, "29.03.2026 02:30"), None);
    }
}

#[test]
fn a_pattern_without_an_hour_gives_the_start_of_the_local_day() {
    let day = |zone, text| at(&looks_at(&["%Y-%m-%d"], zone, ClockChange::Quarantine), text);
    assert_eq!(day("Europe/Vienna", "2026-07-01").as_deref(), Some("2026-06-30T22:00:00Z day"));
    assert_eq!(day("Europe/Vienna", "2026-03-29").as_deref(), Some("2026-03-28T23:00:00Z day"));
    // Clocks in Beirut went forward at midnight of 2022-03-27: the day began at 01:00.
    assert_eq!(day("Asia/Beirut", "2022-03-27").as_deref(), Some("2022-03-26T22:00:00Z day"));
    // In Havana midnight of 2022-11-06 came twice: the day began with the first.
    assert_eq!(day("America/Havana", "2022-11-06").as_deref(), Some("2022-11-06T04:00:00Z day"));
    // Samoa left out 2011-12-30.
    assert_eq!(day("Pacific/Apia", "2011-12-30"), None);
}

#[test]
fn every_part_of_a_pattern_is_read() {
    let cases = [
        ("%Y%m%d%H%M%S", "20260203100405", Some("2026-02-03T10:04:05Z instant")),
        ("%Y%m%d", "2026203", None),
        ("%m/%d/%y %I:%M %p", "2/3/26 12:30 am", Some("2026-02-03T00:30:00Z instant")),
        ("%m/%d/%y %I:%M %p", "2/3/26 1:30 PM", Some("2026-02-03T13:30:00Z instant")),
        ("%m/%d/%y %I:%M %p", "2/3/26 13:30 PM", None),
        ("%m/%d/%y %I:%M %p", "2/3/26 0:30 PM", None),
        ("%d-%b-%y", "03-FEB-69", Some("1969-02-03T00:00:00Z day")),
        ("%d-%b-%y", "03-feb-68", Some("2068-02-03T00:00:00Z day")),
        ("%d-%b-%y", "03-xyz-68", None),
        (
            "%Y-%m-%dT%H:%M:%S.%f%z",
            "2026-02-03T10:04:05.25+01:30",
            Some("2026-02-03T08:34:05.250Z instant"),
        ),
        ("%Y-%m-%dT%H:%M:%S%z", "2026-02-03T10:04:05Z", Some("2026-02-03T10:04:05Z instant")),
        ("%Y-%m-%dT%H:%M:%S%z", "2026-02-03T10:04:05-0130", Some("2026-02-03T11:34:05Z instant")),
        ("%Y-%m-%dT%H:%M:%S%z", "2026-02-03T10:04:05-01", Some("2026-02-03T11:04:05Z instant")),
        ("%Y-%m-%dT%H:%M:%S%z", "2026-02-03T10:04:05", None),
        ("%Y-%m-%d %H:%M", "2026-02-03 24:00", None),
        ("%Y-%m-%d %H:%M", "2026-02-03 23:60", None),
        // The leap second of 2016 (IERS Bulletin C 52) is no time that a row is loaded with.
        ("%Y-%m-%d %H:%M:%S", "2016-12-31 23:59:60", None),
        ("%d. %b %Y", "3. Februar 2026", Some("2026-02-03T00:00:00Z day")),
        ("%d %b %Y", "3 févr. 2026", Some("2026-02-03T00:00:00Z day")),
        ("%d %b %Y %H:%M", "3 LUTEGO 2026 10:00", Some("2026-02-03T10:00:00Z instant")),
        ("%Y-%m-%d %H:%M", "2026-02-03 10:00x", None),
        ("%Y-%m-%d %H:%M", "2026-02-03 10:0", None),
        ("%Y-%m-%d", "2000-02-29", Some("2000-02-29T00:00:00Z day")),
        ("%Y-%m-%d", "1900-02-29", None),
        ("%Y-%m-%d", "99999-01-01", None),
        ("%Y-%m-%d", "2026-13-01", None),
        ("%Y-%m-%d", "2026-04-31", None),
        ("%d%% %m %Y", "3% 2 2026", Some("2026-02-03T00:00:00Z day")),
        ("epoch-s", "1770112800", Some("2026-02-03T10:00:00Z instant")),
        ("epoch-ms", "-1", Some("1969-12-31T23:59:59.999Z instant")),
        ("epoch-s", "1770112800.5", None),
        ("epoch-s", "9223372036854775807", None),
        ("epoch-ms", "253402300800000", None),
        ("epoch-ms", "253402300799999", Some("9999-12-31T23:59:59.999Z instant")),
    ];
    for (pattern, text, time) in cases {
        let mut utc = looks_at(&[pattern], "UTC", ClockChange::Quarantine);
        utc.two_digit_years_from = Some(1969);
        assert_eq!(at(&utc, text).as_deref(), time, "{pattern} {text}");
    }
}

#[test]
fn the_source_says_which_hundred_years_two_digits_mean() {
    let mut utc = looks_at(&["%d.%m.%y"], "UTC", ClockChange::Quarantine);
    for (first, text, time) in [
        (1970, "03.02.69", "2069-02-03T00:00:00Z day"),
        (1970, "03.02.70", "1970-02-03T00:00:00Z day"),
        (2020, "03.02.19", "2119-02-03T00:00:00Z day"),
        (2020, "03.02.20", "2020-02-03T00:00:00Z day"),
    ] {
        utc.two_digit_years_from = Some(first);
        assert_eq!(at(&utc, text).as_deref(), Some(time), "{first} {text}");
    }
}

#[test]
fn several_patterns_are_tried_in_their_order_and_each_keeps_its_precision() {
    let utc = looks_at(&["%d/%m/%Y %H:%M", "%d/%m/%Y", "%m/%d/%Y"], "UTC", ClockChange::Quarantine);
    assert_eq!(at(&utc, "03/02/2026 10:00").as_deref(), Some("2026-02-03T10:00:00Z instant"));
    assert_eq!(at(&utc, "03/02/2026").as_deref(), Some("2026-02-03T00:00:00Z day"));
    assert_eq!(at(&utc, "03/22/2026").as_deref(), Some("2026-03-22T00:00:00Z day"));
}

#[test]
fn a_date_and_a_time_column_are_joined_and_the_time_may_be_missing() {
    let mut record = looks();
    record.columns.insert("at".to_owned(), vec!["Day".to_owned(), "Clock".to_owned()]);
    let text = "Day;Clock;Port;Result\n03.02.2026;10:00;P;OK\n03.02.2026;-;P;OK\n";
    let kept = read(&source(vec![record]), text);
    assert_eq!(
        kept.column(Table::Inspections, "at"),
        ["2026-02-03T09:00:00Z", "2026-02-02T23:00:00Z"]
    );
    assert_eq!(kept.column(Table::Inspections, "at_precision"), ["instant", "day"]);
}
