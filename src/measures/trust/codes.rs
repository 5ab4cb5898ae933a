//! Words of the exports that the settings have no code for.

use std::collections::BTreeMap;

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::{Sources, of_fleet};
use crate::derive::DeriveError;
use crate::measures::results::Group;
use crate::records::{self, Kind, Misread};
use crate::settings::Source;

/// Rows quarantined at a column of codes, and cells of one left out as unknown, in all and by source, table and column.
pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let mut found: BTreeMap<(&str, records::Table, &str), u64> = BTreeMap::new();
    let plan = from.evidence.plan;
    for account in from.accounts {
        let source = plan.sources.iter().find(|source| source.name == account.source);
        let Some(source) = source else { continue };
        let lost = account.lost.iter().filter(|lost| lost.why == Misread::NotListed);
        for lost in lost.filter(|lost| holds_codes(source, lost.table, &lost.column)) {
            let key = (account.source.as_str(), lost.table, lost.column.as_str());
            let rows = found.entry(key).or_default();
            *rows = rows.saturating_add(lost.cells);
        }
        for reason in &account.reasons {
            let Some(of_table) = records::Table::named(&reason.table) else { continue };
            if holds_codes(source, of_table, &reason.column) {
                let key = (account.source.as_str(), of_table, reason.column.as_str());
                let rows = found.entry(key).or_default();
                *rows = rows.saturating_add(reason.rows);
            }
        }
    }
    let count = |rows: u64| i64::try_from(rows).unwrap_or(i64::MAX);
    let all = found.values().fold(0u64, |sum, rows| sum.saturating_add(*rows));
    table.rows.push(of_fleet(Quantity::UnmappedCodes, count(all), Own::default()));
    for ((source, of_table, column), rows) in found {
        let own = Own {
            source: Some(source.to_owned()),
            table: Some(of_table),
            column: Some(column.to_owned()),
            ..Own::default()
        };
        let (by, quantity) = (By::Column, Quantity::UnmappedCodes);
        table.rows.push(Row::count(by, Group::default(), quantity, count(rows), own));
    }
    Ok(())
}

/// Whether a column of a source's exports is read as a code of a table; a column of that name of the table itself where
/// no column of the export fills it.
fn holds_codes(source: &Source, table: records::Table, column: &str) -> bool {
    let is_code = |name: &str| {
        let mut columns = records::columns(table).iter();
        columns.any(|known| known.name == name && known.kind == Kind::Code)
    };
    let maps = source.records.iter().filter(|record| record.table == table);
    let mut filled = maps.flat_map(|record| &record.columns);
    is_code(column)
        || filled.any(|(name, from)| is_code(name) && from.iter().any(|known| known == column))
}
