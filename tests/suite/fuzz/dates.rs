//! Patterns of dates and texts read by them. The first line of an input is a pattern, every other one a
//! text.

use std::fmt::Write as _;
use std::path::Path;

use arrow::array::TimestampMicrosecondArray;
use chrono::{DateTime, NaiveDateTime};
use motetrail::settings::read_text;

use super::export::{assert_balanced, taken};
use super::fuzz;

/// First and last day that a time may fall on: four digits of a year, and a day for the offset.
const SPAN: [&str; 2] = ["-0001-12-31T00:00:00Z", "+10000-01-01T23:59:59.999999Z"];

/// A TOML string.
fn written(text: &str) -> String {
    let mut toml = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' | '\\' => write!(toml, "\\{letter}").unwrap(),
            _ if letter.is_control() => write!(toml, "\\u{:04X}", u32::from(letter)).unwrap(),
            _ => toml.push(letter),
        }
    }
    toml + "\""
}

fn settings(pattern: &str) -> String {
    format!(
        r#"[fleet]
name = "Demo"
currency = "EUR"
timezone = "UTC"
[[source]]
name = "looks"
files = ["looks.csv"]
site = "North"
end_face_names = "fleet"
[[source.record]]
table = "inspections"
columns = {{ at = "at", end_face = "face" }}
dates = {{ at = {} }}
constants = {{ stage = "incoming", outcome = "pass" }}
"#,
        written(pattern)
    )
}

/// The export's row of a text.
fn row(text: &str) -> String {
    format!("\"{}\",A1\n", text.replace('"', "\"\""))
}

#[test]
fn a_time_read_by_any_pattern_is_one_of_the_calendar() {
    let [first, last] = SPAN.map(|day| day.parse::<DateTime<chrono::Utc>>().unwrap());
    fuzz("dates", |input| {
        let text = String::from_utf8_lossy(input);
        let (pattern, texts) = text.split_once('\n').unwrap_or((&text, ""));
        let Ok(plan) = read_text(&settings(pattern), Path::new("."), "fleet.toml") else {
            return;
        };
        let rows: String = texts.lines().map(row).collect();
        let Ok((counts, kept)) = taken(&plan, format!("at,face\n{rows}").as_bytes()) else {
            return;
        };
        assert_balanced(&counts, &kept);
        for (_, batch) in &kept.batches {
            let times = batch.column_by_name("at").unwrap().as_any();
            let times = times.downcast_ref::<TimestampMicrosecondArray>().unwrap();
            for micros in times.values() {
                let time = DateTime::from_timestamp_micros(*micros).unwrap();
                assert!((first..=last).contains(&time), "{time}");
            }
        }
    });
}

/// Another reader of the same pattern: chrono takes more than ours, and where ours takes a text, both
/// must mean the same minute.
#[test]
fn what_is_read_as_a_time_is_the_time_that_chrono_reads() {
    let pattern = "%Y-%m-%d %H:%M";
    let plan = read_text(&settings(pattern), Path::new("."), "fleet.toml");
    let plan = plan.unwrap_or_else(|error| panic!("{error}"));
    let read = std::cell::Cell::new(0);
    fuzz("dates", |input| {
        let text = String::from_utf8_lossy(input);
        for line in text.lines() {
            let (counts, kept) =
                taken(&plan, format!("at,face\n{}", row(line)).as_bytes()).unwrap();
            assert_balanced(&counts, &kept);
            let Some((_, batch)) = kept.batches.first() else {
                continue;
            };
            let times = batch.column_by_name("at").unwrap().as_any();
            let times = times.downcast_ref::<TimestampMicrosecondArray>().unwrap();
            let expected = NaiveDateTime::parse_from_str(line.trim(), pattern).unwrap();
            assert_eq!(times.value(0), expected.and_utc().timestamp_micros(), "{line:?}");
            read.set(read.get() + 1);
        }
    });
    assert!(read.get() > 20, "{} times were read", read.get());
}
