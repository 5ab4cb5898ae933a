//! The settings as understood: every default filled in, every name resolved, every number checked.
//!
//! After a [`Plan`] exists nothing re-validates it; every other part of the program takes it, or a
//! piece of it, by reference.

use std::collections::BTreeMap;
use std::path::PathBuf;

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::dialect::Dialect;
use super::proposal::Proposal;
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

/// Thresholds, each with the default that `Default` gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// V1: a gap longer than this opens a new visit, hours.
    pub visit_gap_hours: u32,
    /// C1: a look this long before a mating still counts, hours.
    pub coverage_window_hours: u32,
    /// F1: follow-up after a mating, days.
    pub horizon_days: u32,
    /// F4: inner cuts of the follow-up bands, days, rising and below the horizon.
    pub bands_days: Vec<u32>,
    /// F2: a fault this soon after a mating may belong to the mating it replaced, hours.
    pub ticket_lag_hours: u32,
    /// F2: how long before a mating another may have ended to count as replaced, days.
    pub replaced_within_days: u32,
    /// F3: tickets within this of the first are one fault, hours.
    pub merge_tickets_hours: u32,
    /// C3: a mating within this after a fault is `after_fault`, days.
    pub after_fault_days: u32,
    /// C3: the same two ends joined again within this is a reseat, hours.
    pub reseat_hours: u32,
    /// V7: a fault opened within this after a visit's start prompted it, hours.
    pub prompted_hours: u32,
    /// V7: how long a fault never cleared counts as open, days.
    pub open_fault_days: u32,
    /// V7: matings shorter than this do not keep a visit from being `again`, days.
    pub short_mating_days: u32,
    /// How far cycles, skipped cost, entry and carriers look back from the period's end, months.
    pub look_back_months: u32,
    /// Level of every interval.
    pub level: f64,
    /// Below this many units a share is `thin`.
    pub least_count: u32,
    /// Below this many clusters a variance is `few-clusters`.
    pub few_clusters: u32,
    /// Scale of the half-normal prior of the between-cell deviation of log rate ratios (5.5).
    pub ratio_spread: f64,
    /// Matings in a month without a look that make the month silent (5.3).
    pub silent_matings: u32,
    /// Rows of each of the three lists of what to look at first (5.11).
    pub worklist_rows: u32,
    /// Share of rows read that may be quarantined before the run ends with code 1.
    pub quarantine_limit: f64,
    /// Whether an export that cannot be read stops the run; else it is named and the rest goes on.
    pub strict: bool,
    /// Causes that dirt cannot produce: the negative control of 5.5.
    pub control_causes: Vec<String>,
    /// Seed of every draw.
    pub seed: u64,
    /// Whether people may be ranked by their pseudonyms.
    pub show_people: bool,
    /// Records older than this, counted back from `as_of`, are dropped; none: all are kept.
    pub keep_years: Option<u32>,
    /// Memory that a pass may plan for, MiB.
    pub memory_mib: u32,
    /// Draws of every purchase case (5.8).
    pub draws: u32,
}

impl Default for Rules {
    fn default() -> Self {
        Self {
            visit_gap_hours: 8,
            coverage_window_hours: 24,
            horizon_days: 90,
            bands_days: vec![7, 30],
            ticket_lag_hours: 12,
            replaced_within_days: 7,
            merge_tickets_hours: 24,
            after_fault_days: 30,
            reseat_hours: 24,
            prompted_hours: 24,
            open_fault_days: 30,
            short_mating_days: 7,
            look_back_months: 12,
            level: 0.95,
            least_count: 20,
            few_clusters: 10,
            ratio_spread: 0.5,
            silent_matings: 20,
            worklist_rows: 100,
            quarantine_limit: 0.02,
            strict: false,
            control_causes: ["break", "bend", "equipment"].map(String::from).to_vec(),
            seed: 1,
            show_people: false,
            keep_years: None,
            memory_mib: 256,
            draws: 1000,
        }
    }
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
    pub family: Vec<String>,
    pub polish: Vec<String>,
    pub mode: Vec<String>,
    pub method: Vec<String>,
    pub cause: Vec<String>,
    pub remedy: Vec<String>,
    pub criteria: Vec<String>,
}

/// Prices. Money in minor units of the fleet's currency.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// Minutes that one look takes.
    pub look_minutes: f64,
    /// Minutes that one cleaning takes.
    pub cleaning_minutes: f64,
    /// Material of one cleaning, minor units.
    pub cleaning_material: i64,
    /// An hour of work, minor units.
    pub labour_hour: i64,
    /// An hour of service lost, minor units.
    pub downtime_hour: i64,
    /// One trip to a site for a fault, minor units.
    pub visit: i64,
    /// Putting right or replacing a rejected end face, minor units.
    pub reject: i64,
    /// What money is worth less after a year, a share of itself.
    pub discount_rate: f64,
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
    pub from: NaiveDate,
    pub to: NaiveDate,
    /// Every export holds all records of these days: what a later one leaves out was deleted.
    pub complete: bool,
}

/// Rule for local times around a clock change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockChange {
    /// Take the earlier reading of a double hour; a missing time is quarantined.
    Earlier,
    /// Take the later reading of a double hour; a missing time is quarantined.
    Later,
    /// Quarantine both.
    Quarantine,
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
    Fleet,
    Site,
}

/// One kind of record that a row can become.
#[derive(Clone, Debug)]
pub struct RecordMap {
    /// Line of the settings where it begins.
    pub line: usize,
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
    pub column: String,
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
