//! The settings as typed: every key optional, nothing understood yet.
//!
//! Whole numbers are `i64` throughout, so that one out of range is told by `check` in the words of
//! the rule and not as a failed conversion.

use std::collections::BTreeMap;
use std::fmt;

use serde::Deserialize;
use serde::de::value::{MapAccessDeserializer, SeqAccessDeserializer};
use serde::de::{Deserializer, Error, MapAccess, SeqAccess, Visitor};

pub use super::written_proposal::{Budget, Effect, Proposal, Range, Stated};

/// The whole file.
#[derive(Debug, Default, Deserialize)]
pub struct Settings {
    pub fleet: Option<Fleet>,
    pub rules: Option<Rules>,
    pub stages: Option<Stages>,
    pub codes: Option<Codes>,
    pub costs: Option<Costs>,
    pub source: Option<Vec<Source>>,
    pub proposal: Option<Vec<Proposal>>,
    pub budget: Option<Budget>,
}

/// `[fleet]`
#[derive(Debug, Default, Deserialize)]
pub struct Fleet {
    pub name: Option<String>,
    pub currency: Option<String>,
    pub timezone: Option<String>,
    pub fiscal_year_starts: Option<i64>,
    pub as_of: Option<Day>,
    pub store: Option<String>,
    pub sites: Option<Vec<String>>,
}

/// `[rules]`
#[derive(Debug, Default, Deserialize)]
pub struct Rules {
    pub visit_gap_hours: Option<i64>,
    pub coverage_window_hours: Option<i64>,
    pub horizon_days: Option<i64>,
    pub bands_days: Option<Vec<i64>>,
    pub ticket_lag_hours: Option<i64>,
    pub replaced_within_days: Option<i64>,
    pub merge_tickets_hours: Option<i64>,
    pub after_fault_days: Option<i64>,
    pub reseat_hours: Option<i64>,
    pub prompted_hours: Option<i64>,
    pub open_fault_days: Option<i64>,
    pub short_mating_days: Option<i64>,
    pub look_back_months: Option<i64>,
    pub level: Option<f64>,
    pub least_count: Option<i64>,
    pub few_clusters: Option<i64>,
    pub ratio_spread: Option<f64>,
    pub silent_matings: Option<i64>,
    pub worklist_rows: Option<i64>,
    pub quarantine_limit: Option<f64>,
    pub strict: Option<bool>,
    pub control_causes: Option<Vec<String>>,
    pub seed: Option<i64>,
    pub people: Option<String>,
    pub keep_years: Option<i64>,
    pub memory_mib: Option<i64>,
    pub draws: Option<i64>,
}

/// `[stages]`
#[derive(Debug, Default, Deserialize)]
pub struct Stages {
    pub order: Option<Vec<String>>,
    pub dark: Option<Vec<String>>,
}

/// `[codes]`
#[derive(Debug, Default, Deserialize)]
pub struct Codes {
    pub family: Option<Vec<String>>,
    pub polish: Option<Vec<String>>,
    pub mode: Option<Vec<String>>,
    pub method: Option<Vec<String>>,
    pub cause: Option<Vec<String>>,
    pub remedy: Option<Vec<String>>,
    pub criteria: Option<Vec<String>>,
}

/// `[costs]`
#[derive(Debug, Default, Deserialize)]
pub struct Costs {
    pub look_minutes: Option<f64>,
    pub cleaning_minutes: Option<f64>,
    pub cleaning_material: Option<f64>,
    pub labour_hour: Option<f64>,
    pub downtime_hour: Option<f64>,
    pub visit: Option<f64>,
    pub reject: Option<f64>,
    pub discount_rate: Option<f64>,
}

/// `[[source]]`
#[derive(Debug, Default, Deserialize)]
pub struct Source {
    pub name: Option<String>,
    pub files: Option<Vec<String>>,
    pub site: Option<String>,
    pub timezone: Option<String>,
    pub separator: Option<String>,
    pub quote: Option<String>,
    pub escape: Option<String>,
    pub line_end: Option<String>,
    pub decimal_mark: Option<String>,
    pub encoding: Option<String>,
    pub skip_lines: Option<i64>,
    pub header_rows: Option<i64>,
    pub units_row: Option<bool>,
    pub short_rows: Option<String>,
    pub sheet: Option<String>,
    pub nulls: Option<Vec<String>>,
    pub clock_change: Option<String>,
    pub two_digit_years_from: Option<i64>,
    pub end_face_names: Option<String>,
    pub one_name_both_sides: Option<bool>,
    pub finding_default: Option<String>,
    pub people: Option<BTreeMap<String, String>>,
    pub covers: Option<BTreeMap<String, Cover>>,
    pub record: Option<Vec<Record>>,
}

/// `covers.<table>` of a source.
#[derive(Debug, Default, Deserialize)]
pub struct Cover {
    pub from: Option<Day>,
    pub to: Option<Day>,
    pub complete: Option<bool>,
}

/// `[[source.record]]`
#[derive(Debug, Default, Deserialize)]
pub struct Record {
    pub table: Option<String>,
    pub when: Option<When>,
    pub columns: Option<BTreeMap<String, OneOrMany>>,
    pub dates: Option<BTreeMap<String, OneOrMany>>,
    pub values: Option<BTreeMap<String, BTreeMap<String, String>>>,
    pub constants: Option<BTreeMap<String, String>>,
}

/// `when` of a record.
#[derive(Debug, Default, Deserialize)]
pub struct When {
    pub column: Option<String>,
    pub is: Option<Vec<String>>,
    pub is_not: Option<Vec<String>>,
    pub given: Option<bool>,
}

/// A text alone or several in an array.
#[derive(Debug)]
pub enum OneOrMany {
    One(String),
    Many(Vec<String>),
}

/// A day, as a string or as a TOML date: its text.
#[derive(Debug)]
pub struct Day(pub String);

impl<'de> Deserialize<'de> for OneOrMany {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Texts;
        impl<'de> Visitor<'de> for Texts {
            type Value = OneOrMany;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a string or an array of strings")
            }

            fn visit_str<E: Error>(self, text: &str) -> Result<OneOrMany, E> {
                Ok(OneOrMany::One(text.to_owned()))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, texts: A) -> Result<OneOrMany, A::Error> {
                Vec::deserialize(SeqAccessDeserializer::new(texts)).map(OneOrMany::Many)
            }
        }
        deserializer.deserialize_any(Texts)
    }
}

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct DayText;
        impl<'de> Visitor<'de> for DayText {
            type Value = Day;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a day such as \"2026-07-05\"")
            }

            fn visit_str<E: Error>(self, text: &str) -> Result<Day, E> {
                Ok(Day(text.to_owned()))
            }

            // The TOML crate hands dates over as a map with one key of their own.
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Day, A::Error> {
                let date = toml_edit::Datetime::deserialize(MapAccessDeserializer::new(map))?;
                Ok(Day(date.to_string()))
            }
        }
        deserializer.deserialize_any(DayText)
    }
}
