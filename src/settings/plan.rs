//! The settings as understood: every default filled in, every name resolved, every number checked.
//!
//! After a [`Plan`] exists nothing re-validates it; every other part of the program takes it, or a
//! piece of it, by reference.

use std::collections::BTreeMap;
use std::path::PathBuf;

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::costs::Costs;
use super::dialect::Dialect;
use super::proposal::Proposal;
use super::rules::Rules;
use crate::calendar::ClockChange;
use crate::records::Table;

/// One fleet's settings, checked as a whole.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Who and where.
    pub fleet: Fleet,
    /// Thresholds of the derivations and measures.
    pub rules: Rules,
    /// Lifecycle stages in order.
    pub stages: Stages,
    /// Code lists by coded column; a value outside its list is quarantined.
    pub codes: Codes,
    /// What work and trouble cost.
    pub costs: Costs,
    /// Where records come from, ordered by name.
    pub sources: Vec<Source>,
    /// What may be bought, in the order of the settings.
    pub proposals: Vec<Proposal>,
    /// What may be spent on it, minor units.
    pub budget: Option<i64>,
    /// BLAKE3 of the text that was understood so, hex.
    pub text_blake3: String,
}

/// The fleet itself.
#[derive(Clone, Debug)]
pub struct Fleet {
    /// Name as printed on the report.
    pub name: String,
    /// ISO 4217 code; money is kept in its minor units (hundredths).
    pub currency: String,
    /// Zone in which days, months and periods are cut.
    pub timezone: Tz,
    /// First month of the fiscal year, 1 to 12.
    pub fiscal_year_starts: u32,
    /// The day on which the records are taken to be complete; none: the day of the last intake
    /// that brought records.
    pub as_of: Option<NaiveDate>,
    /// Sites in the order of the settings; empty: any site name is taken.
    pub sites: Vec<String>,
    /// Folder of the store, absolute or relative to the working folder.
    pub store: PathBuf,
    /// Folder of the settings file: globs are relative to it.
    pub folder: PathBuf,
}

/// The lifecycle.
#[derive(Clone, Debug)]
pub struct Stages {
    /// Names, earliest first.
    pub order: Vec<String>,
    /// Stages without light, where no fault can show (left out of 5.4 and 5.5).
    pub dark: Vec<String>,
}

/// Code lists that the settings own. An empty list leaves the column free.
#[derive(Clone, Debug)]
pub struct Codes {
    /// Connector families.
    pub family: Vec<String>,
    /// Polishes of end faces.
    pub polish: Vec<String>,
    /// Modes of fibres.
    pub mode: Vec<String>,
    /// Methods of cleaning.
    pub method: Vec<String>,
    /// Causes of faults.
    pub cause: Vec<String>,
    /// What ended faults.
    pub remedy: Vec<String>,
    /// Criteria that outcomes were judged by.
    pub criteria: Vec<String>,
}

/// One exporter of records.
#[derive(Clone, Debug)]
pub struct Source {
    /// Unique name; part of every record's identity.
    pub name: String,
    /// Line of the settings where it begins, for messages.
    pub line: usize,
    /// Globs relative to the settings' folder, in the settings' order.
    pub files: Vec<String>,
    /// The one site of its rows; none: a record part maps the `site` column.
    pub site: Option<String>,
    /// How its text is cut into cells.
    pub dialect: Dialect,
    /// Zone of local times and of days.
    pub timezone: Tz,
    /// What to do with a local time that a clock change made double or missing.
    pub clock_change: ClockChange,
    /// First of the hundred years that two digits mean; none: no pattern has a year of two digits.
    pub two_digit_years_from: Option<i64>,
    /// Whether an end-face name is unique in the fleet or only in its site.
    pub scope: NameScope,
    /// One name covers both sides of an adapter, so the side joins the key.
    pub one_name_both_sides: bool,
    /// R5: what a failing look without a finding means here.
    pub finding_default: Option<String>,
    /// Export columns that hold people's names, beside those that the map reads as people.
    pub people: BTreeMap<String, People>,
    /// Days, both included, for which a table of this source is complete.
    pub covers: BTreeMap<Table, Cover>,
    /// The map: what each row becomes.
    pub records: Vec<RecordMap>,
}

/// Days from and to, both included, in the fleet's zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cover {
    /// First day.
    pub from: NaiveDate,
    /// Last day, part of it.
    pub to: NaiveDate,
    /// Every export holds all records of these days: what a later one leaves out was deleted.
    pub complete: bool,
}

/// What becomes of a column of people's names. Either way its cells are masked wherever a row's text is
/// shown, and the same text is kept in no other cell of the export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum People {
    /// A keyed pseudonym stands for the name wherever the map reads the column.
    Pseudonym,
    /// Nothing of it is kept; the map does not read it.
    Drop,
}

/// Reach of an end-face name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NameScope {
    /// In the whole fleet.
    Fleet,
    /// At its site.
    Site,
}

/// One kind of record that a row can become.
#[derive(Clone, Debug)]
pub struct RecordMap {
    /// Line of the settings where it begins.
    pub line: usize,
    /// What its rows become.
    pub table: Table,
    /// Only rows that satisfy this become such a record.
    pub when: Option<When>,
    /// Canonical column -> export columns (several are joined by one space, empty ones left out).
    pub columns: BTreeMap<String, Vec<String>>,
    /// Canonical time column -> patterns, tried in order. A pattern without an hour gives a day.
    pub dates: BTreeMap<String, Vec<String>>,
    /// Canonical column -> (export word -> code). An empty code means "not given".
    pub values: BTreeMap<String, BTreeMap<String, String>>,
    /// Canonical column -> the same text for every row.
    pub constants: BTreeMap<String, String>,
}

/// A condition on one export column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct When {
    /// Column of the export.
    pub column: String,
    /// What its cell must be.
    pub is: Test,
}

/// What a condition asks of the trimmed cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Test {
    /// One of these words.
    OneOf(Vec<String>),
    /// None of these words.
    NoneOf(Vec<String>),
    /// Anything but a null word.
    Given,
}
