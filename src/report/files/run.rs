//! `run.json`: what the report was made from, so that it can be made again.

use serde::{Deserialize, Serialize};

use super::digits::nine;
use super::findings::{Span, json};
use crate::measures::{intake, trust};
use crate::report::Inputs;
use crate::report::error::ReportError;
use crate::store::{FileAccount, RowAccount};

/// Name of the file; it is what tells a folder of ours from another.
pub(in crate::report) const NAME: &str = "run.json";

/// Version of the file's shape.
const SCHEMA_VERSION: u32 = 1;

#[derive(Serialize)]
struct File<'a> {
    schema_version: u32,
    program: &'static str,
    program_version: &'static str,
    fleet: &'a str,
    period: Span,
    level: Option<f64>,
    horizon_days: u32,
    look_back_months: u32,
    seed: u64,
    settings_blake3: &'a str,
    inputs: Vec<Input<'a>>,
    /// Alias tables of names, which are not exports but decide what the records say; left out where there is none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    aliases: Vec<AliasTable<'a>>,
    /// Exports that could not be read; left out where there is none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    unread: Vec<Unread<'a>>,
    rows: Rows,
    tables: Vec<Table<'a>>,
}

#[derive(Serialize)]
struct Input<'a> {
    source: &'a str,
    file: &'a str,
    blake3: &'a str,
    rows: Rows,
}

#[derive(Serialize)]
struct AliasTable<'a> {
    source: Option<&'a str>,
    file: Option<&'a str>,
    blake3: Option<&'a str>,
    rows: Option<u64>,
}

#[derive(Serialize)]
struct Unread<'a> {
    source: &'a str,
    file: &'a str,
    reason: Option<&'a str>,
}

#[derive(Clone, Copy, Default, Serialize)]
struct Rows {
    read: u64,
    loaded: u64,
    superseded: u64,
    withdrawn: u64,
    duplicate: u64,
    quarantined: u64,
    #[serde(skip_serializing_if = "is_zero")]
    expired: u64,
}

#[derive(Serialize)]
struct Table<'a> {
    table: &'a str,
    rows: usize,
}

/// The file's bytes; inputs by source, file and hash, in whatever order they came.
pub(in crate::report) fn run(inputs: &Inputs) -> Result<Vec<u8>, ReportError> {
    let review = inputs.review;
    let mut lines: Vec<&FileAccount> = inputs.accounts.iter().collect();
    lines.sort_by(|a, b| (&a.source, &a.file, &a.hash).cmp(&(&b.source, &b.file, &b.hash)));
    let file = File {
        schema_version: SCHEMA_VERSION,
        program: env!("CARGO_PKG_NAME"),
        program_version: env!("CARGO_PKG_VERSION"),
        fleet: &review.fleet,
        period: Span::of(review),
        level: nine(review.level),
        horizon_days: review.horizon_days,
        look_back_months: review.look_back_months,
        seed: inputs.seed,
        settings_blake3: &inputs.settings_hash,
        rows: lines.iter().fold(Rows::default(), |sum, line| sum.and(line.rows.into())),
        inputs: lines.into_iter().map(input).collect(),
        aliases: review.trust.quantity(trust::Quantity::AliasRows).map(alias_table).collect(),
        unread: review.intake.quantity(intake::Quantity::Unread).map(unread).collect(),
        tables: review
            .tables()
            .into_iter()
            .map(|table| Table { table: table.name(), rows: table.leading().len() })
            .collect(),
    };
    json(NAME, &file)
}

/// What every version of the file says; another program's file of that name does not say all of it.
#[derive(Deserialize)]
struct Mark {
    schema_version: u32,
    program: String,
    program_version: String,
    period: Quarter,
    settings_blake3: String,
}

#[derive(Deserialize)]
struct Quarter {
    quarter: String,
}

/// Whether these bytes are the `run.json` of a report that this program wrote, in whatever version.
pub(in crate::report) fn is_mark(bytes: &[u8]) -> bool {
    let is_hash = |text: &str| text.bytes().all(|byte| byte.is_ascii_hexdigit());
    serde_json::from_slice::<Mark>(bytes).is_ok_and(|mark| {
        mark.program == env!("CARGO_PKG_NAME")
            && mark.schema_version >= 1
            && !mark.program_version.is_empty()
            && !mark.period.quarter.is_empty()
            && is_hash(&mark.settings_blake3)
    })
}

impl From<RowAccount> for Rows {
    fn from(account: RowAccount) -> Rows {
        let RowAccount { read, loaded, superseded, withdrawn, duplicate, quarantined, expired } =
            account;
        Rows { read, loaded, superseded, withdrawn, duplicate, quarantined, expired }
    }
}

impl Rows {
    fn and(self, other: Rows) -> Rows {
        Rows {
            read: self.read.saturating_add(other.read),
            loaded: self.loaded.saturating_add(other.loaded),
            superseded: self.superseded.saturating_add(other.superseded),
            withdrawn: self.withdrawn.saturating_add(other.withdrawn),
            duplicate: self.duplicate.saturating_add(other.duplicate),
            quarantined: self.quarantined.saturating_add(other.quarantined),
            expired: self.expired.saturating_add(other.expired),
        }
    }
}

fn alias_table(row: &trust::Row) -> AliasTable<'_> {
    let own = &row.own;
    let (source, file, blake3) =
        (own.source.as_deref(), own.file.as_deref(), own.blake3.as_deref());
    AliasTable { source, file, blake3, rows: own.read }
}

fn input(line: &FileAccount) -> Input<'_> {
    Input { source: &line.source, file: &line.file, blake3: &line.hash, rows: line.rows.into() }
}

fn unread(row: &intake::Row) -> Unread<'_> {
    let intake::Own { source, file, reason, .. } = &row.own;
    Unread { source, file, reason: reason.as_deref() }
}

fn is_zero(rows: &u64) -> bool {
    *rows == 0
}
