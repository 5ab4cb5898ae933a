//! The program's own calendar and zone cache against chrono, which shares no code with them.

use chrono::{Days, NaiveDate, TimeZone};
use chrono_tz::Tz;
use motetrail::records::Table;
use motetrail::settings::ClockChange;

use super::fixture::{With, looks, read, source};

#[test]
fn days_all_over_ten_thousand_years_are_the_days_that_chrono_gives() {
    // Steps of 29 days meet every day of every month, in leap years too.
    let first = NaiveDate::from_ymd_opt(0, 1, 1).unwrap();
    let days = (0..3_652_425).step_by(29).map(|day| first + Days::new(day));
    let lines: String = days.clone().map(|day| day.format("%Y-%m-%d;P;OK\n").to_string()).collect();
    let mut utc = source(vec![looks().dates("at", &["%Y-%m-%d"])]);
    utc.timezone = Tz::UTC;
    let kept = read(&utc, &format!("At;Port;Result\n{lines}"));
    assert!(kept.rejected.is_empty());
    let read = kept.column(Table::Inspections, "at");
    assert!(days.zip(read).all(|(day, read)| format!("{day}T00:00:00Z") == read));
}

#[test]
fn every_quarter_of_an_hour_around_clock_changes_is_the_time_that_chrono_gives() {
    for zone in [
        Tz::Europe__Vienna,
        Tz::Australia__Lord_Howe,
        Tz::America__Santiago,
        Tz::Africa__Casablanca,
    ] {
        let mut utc = source(vec![looks().dates("at", &["%Y-%m-%d %H:%M"])]);
        (utc.timezone, utc.clock_change) = (zone, ClockChange::Later);
        let start = NaiveDate::from_ymd_opt(2024, 3, 1).unwrap().and_hms_opt(0, 0, 0).unwrap();
        let locals: Vec<_> =
            (0..96 * 400).map(|quarter| start + chrono::TimeDelta::minutes(15 * quarter)).collect();
        let lines: String =
            locals.iter().map(|at| at.format("%Y-%m-%d %H:%M;P;OK\n").to_string()).collect();
        let kept = read(&utc, &format!("At;Port;Result\n{lines}"));
        let expected: Vec<String> = locals
            .iter()
            .filter_map(|local| zone.from_local_datetime(local).latest())
            .map(|at| at.to_utc().format("%Y-%m-%dT%H:%M:%SZ").to_string())
            .collect();
        assert!(expected.len() < locals.len());
        assert_eq!(kept.column(Table::Inspections, "at"), expected);
    }
}
