//! Rows that were refused and cells that were left out: shares by source and table, what is over the limit, and the
//! questions that have no answer because a table is empty or mostly refused.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::Sources;
use crate::derive::DeriveError;
use crate::measures::results::Group;
use crate::measures::{actions, carriers, looks_plan, payback, skipped_cost, worklist};
use crate::measures::{changes, coverage, cycles, entry, fault_rates, first_pass};
use crate::records;
use crate::settings::Plan;
use crate::stats::wilson;
use crate::store::{FileAccount, LostCells};

/// A file of fewer rows is not held to the limit by itself: one bad row of ten is no share.
const LEAST_ROWS: u64 = 100;

/// Above this share of refused rows a table answers nothing: what is left of it is not what was recorded.
const MOST_REFUSED: f64 = 0.5;

/// Which tables a question of section 1 needs records of, by the name of its measure, in the order of the questions. Trust
/// needs none, intake neither.
pub const NEEDS: &[(&str, &[records::Table])] = {
    use records::Table::{Cleanings, Faults, Inspections, Matings};
    &[
        (first_pass::NAME, &[Inspections]),
        (cycles::NAME, &[Inspections, Cleanings]),
        (coverage::NAME, &[Inspections, Matings]),
        (fault_rates::NAME, &[Matings, Faults]),
        (skipped_cost::NAME, &[Inspections, Matings, Faults]),
        (entry::NAME, &[Inspections]),
        (carriers::NAME, &[Inspections, Matings]),
        (payback::NAME, &[Inspections, Matings, Faults]),
        (actions::NAME, &[Inspections]),
        (changes::NAME, &[Inspections]),
        (looks_plan::NAME, &[Inspections, Matings, Faults]),
        (worklist::NAME, &[Inspections]),
    ]
};

/// What rows are counted of.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Of {
    /// Everything that was read.
    All,
    /// Rows that became records of a table, or should have.
    Table(records::Table),
    /// Every file of a source.
    Source(String),
    /// One file, after its source.
    File(String, String),
}

impl fmt::Display for Of {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Of::All => f.write_str("all sources"),
            Of::Table(table) => f.write_str(table.name()),
            Of::Source(source) => f.write_str(source),
            Of::File(source, file) => write!(f, "{file} of {source}"),
        }
    }
}

/// Rows read and rows refused.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Refused {
    /// Rows, refused or not. Of a table that shares its sources with others: the refused rows and the records.
    pub rows: u64,
    /// Rows in quarantine.
    pub refused: u64,
}

impl Refused {
    /// Share of the rows that was refused, 0 of none.
    pub fn share(self) -> f64 {
        if self.rows == 0 { 0.0 } else { self.refused as f64 / self.rows as f64 }
    }

    fn add(&mut self, rows: u64, refused: u64) {
        self.rows = self.rows.saturating_add(rows);
        self.refused = self.refused.saturating_add(refused);
    }

    fn is_over(self, of: &Of, limit: f64) -> bool {
        let counts = !matches!(of, Of::File(..)) || self.rows >= LEAST_ROWS;
        counts && self.refused as f64 > limit * self.rows as f64
    }
}

/// Rows by what they are of: everything, every table that a source has, every source, every file.
pub fn refused(plan: &Plan, accounts: &[FileAccount]) -> BTreeMap<Of, Refused> {
    let mut found: BTreeMap<Of, Refused> = BTreeMap::from([(Of::All, Refused::default())]);
    for account in accounts {
        let (rows, refused) = (account.rows.read, account.rows.quarantined);
        let file = Of::File(account.source.clone(), account.file.clone());
        for of in [Of::All, Of::Source(account.source.clone()), file] {
            found.entry(of).or_default().add(rows, refused);
        }
        let tables = tables_of(plan, account);
        let is_alone = tables.len() == 1;
        for table in tables {
            let of_table = found.entry(Of::Table(table)).or_default();
            if is_alone {
                of_table.add(rows, refused);
                continue;
            }
            let named = account.reasons.iter().filter(|reason| reason.table == table.name());
            let refused = named.map(|reason| reason.rows).sum::<u64>();
            of_table.add(refused.saturating_add(records_of(account, table)), refused);
        }
    }
    found
}

/// What of it is over the limit, ordered.
pub fn over_limit(plan: &Plan, accounts: &[FileAccount]) -> Vec<(Of, Refused)> {
    let limit = plan.rules.quarantine_limit;
    refused(plan, accounts).into_iter().filter(|(of, rows)| rows.is_over(of, limit)).collect()
}

/// Tables that an account's source fills, by its map or by what came of it.
fn tables_of(plan: &Plan, account: &FileAccount) -> BTreeSet<records::Table> {
    let source = plan.sources.iter().find(|source| source.name == account.source);
    let mapped = source.into_iter().flat_map(|source| &source.records).map(|part| part.table);
    let became = account.records.iter().map(|found| found.table);
    let named = account.reasons.iter().filter_map(|reason| records::Table::named(&reason.table));
    mapped.chain(became).chain(named).collect()
}

/// Records of a table that came of a file, those dropped for their age too.
fn records_of(account: &FileAccount, table: records::Table) -> u64 {
    let records = account.records.iter().filter(|found| found.table == table);
    let expired = account.expired.iter().filter(|found| found.table == table);
    let all = records.map(|found| found.records).chain(expired.map(|found| found.records));
    all.fold(0, u64::saturating_add)
}

/// Cells left out of a source, by column and reason.
pub fn lost(accounts: &[FileAccount]) -> Vec<(&str, LostCells)> {
    let mut found: BTreeMap<_, LostCells> = BTreeMap::new();
    for account in accounts {
        for cells in &account.lost {
            let key = (account.source.as_str(), cells.table, cells.column.as_str(), cells.why);
            match found.get_mut(&key) {
                Some(sum) => sum.cells = sum.cells.saturating_add(cells.cells),
                None => drop(found.insert(key, cells.clone())),
            }
        }
    }
    found.into_iter().map(|((source, ..), cells)| (source, cells)).collect()
}

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let (plan, accounts) = (from.evidence.plan, from.accounts);
    let level = plan.rules.level;
    let found = refused(plan, accounts);
    let group = Group::default;
    for (of, rows) in &found {
        let share = wilson(rows.refused as f64, rows.rows as f64, level);
        let (by, own) = match of {
            Of::All => (By::Fleet, Own::default()),
            Of::Table(table) => (By::Table, Own { table: Some(*table), ..Own::default() }),
            Of::Source(source) => {
                (By::Source, Own { source: Some(source.clone()), ..Own::default() })
            }
            Of::File(..) => continue,
        };
        table.rows.push(Row::of(by, group(), Quantity::Refused, &share, own));
    }
    for (source, cells) in lost(accounts) {
        let of_source = accounts.iter().filter(|account| account.source == source);
        let typed = of_source.map(|account| account.rows.read - account.rows.quarantined);
        let typed = typed.fold(0, u64::saturating_add);
        let share = wilson(cells.cells.min(typed) as f64, typed as f64, level);
        let own = Own {
            source: Some(source.to_owned()),
            table: Some(cells.table),
            column: Some(cells.column),
            why: Some(cells.why),
            ..Own::default()
        };
        table.rows.push(Row::of(By::Source, group(), Quantity::LostCells, &share, own));
    }
    let missing = missing(plan, accounts, &found);
    for (name, needed) in NEEDS {
        for lacking in needed.iter().filter(|needed| missing.contains(*needed)) {
            let rows = found.get(&Of::Table(*lacking)).copied().unwrap_or_default();
            let own = Own {
                table: Some(*lacking),
                measure: Some((*name).to_owned()),
                read: Some(rows.rows),
                quarantined: Some(rows.refused),
                ..Own::default()
            };
            let standing = i64::try_from(standing(accounts, *lacking)).unwrap_or(i64::MAX);
            table.rows.push(Row::count(By::Table, group(), Quantity::Unanswered, standing, own));
        }
    }
    Ok(())
}

fn standing(accounts: &[FileAccount], table: records::Table) -> u64 {
    let records = accounts.iter().flat_map(|account| &account.records);
    let of_table = records.filter(|found| found.table == table);
    of_table.fold(0, |sum, found| sum.saturating_add(found.standing))
}

/// Tables from which nothing can be answered: those of which no record stands, unless the settings say for which days
/// they are whole, and those of which most rows were refused.
fn missing(
    plan: &Plan,
    accounts: &[FileAccount],
    found: &BTreeMap<Of, Refused>,
) -> BTreeSet<records::Table> {
    let is_missing = |table: &records::Table| {
        let rows = found.get(&Of::Table(*table)).copied().unwrap_or_default();
        let is_covered = plan.sources.iter().any(|source| source.covers.contains_key(table));
        let is_empty = standing(accounts, *table) == 0 && (rows.refused > 0 || !is_covered);
        is_empty || rows.share() > MOST_REFUSED
    };
    records::Table::ALL.into_iter().filter(is_missing).collect()
}
