//! Settings: what reads, what is refused, and in which words.

mod action;
mod allowed;
mod answers;
mod described;
mod example;
mod fleet;
mod keys;
mod names;
mod numbers;
mod proposal;
mod readme;
mod record;
mod rules;
mod size;
mod source;
mod types;
mod unreadable;

use std::path::Path;

use motetrail::settings::{Plan, SettingsError, read_text};

/// Smallest settings that read, one key a line so that tests can name lines.
const LEAST: &str = r#"[fleet]
name = "Demo"
currency = "EUR"
timezone = "Europe/Vienna"

[[source]]
name = "bench"
files = ["bench-*.csv"]
site = "Works"
end_face_names = "fleet"

[[source.record]]
table = "inspections"
[source.record.columns]
at = "Time"
end_face = "Port"
outcome = "Result"
[source.record.dates]
at = "%Y-%m-%d %H:%M"
[source.record.constants]
stage = "incoming"
"#;

/// [`LEAST`] with one piece of text replaced, which must be there.
fn least_with(old: &str, new: &str) -> String {
    assert!(LEAST.contains(old), "{old:?} is not in the settings");
    LEAST.replacen(old, new, 1)
}

/// [`LEAST`] with a table put before the first source.
fn least_and(table: &str) -> String {
    least_with("[[source]]", &format!("{table}\n[[source]]"))
}

fn plan(text: &str) -> Plan {
    match read_text(text, Path::new("here"), "fleet.toml") {
        Ok(plan) => plan,
        Err(error) => panic!("{error}"),
    }
}

/// What is said of settings that do not read, a line a problem.
fn problems(text: &str) -> String {
    match read_text(text, Path::new("here"), "fleet.toml") {
        Err(error @ SettingsError::Invalid { .. }) => error.to_string(),
        Err(error) => panic!("unreadable: {error}"),
        Ok(_) => String::new(),
    }
}
