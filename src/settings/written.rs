//! The settings as typed: every key optional, nothing understood yet.
//!
//! Whole numbers are `i64` throughout, so that one out of range is told by `check` in the words of
//! the rule and not as a failed conversion.

use std::collections::BTreeMap;
use std::fmt;

use serde::Deserialize;
use serde::de::value::SeqAccessDeserializer;
use serde::de::{Deserializer, Error, SeqAccess, Visitor};

pub use super::costs::TypedCosts as Costs;
use super::day::Day;
pub use super::rules::TypedRules as Rules;

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
