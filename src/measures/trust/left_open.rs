//! What records leave open: times known to the day only, looks without a readable picture, failures without a finding,
//! months without a look.

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::{Sources, of_fleet};
use crate::by;
use crate::derive::counts::{Site, Unreadable, unreadable};
use crate::derive::{DeriveError, Rows};
use crate::measures::coverage;
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::records;
use crate::stats::wilson;

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    precision(evidence, table);
    unreadable(evidence, table)?;
    let counts = &evidence.derived.counts;
    let silent = from.coverage.quantity(coverage::Quantity::SilentMonth).count();
    for (quantity, count) in [
        (Quantity::FindingsMissing, counts.first_pass.findings_missing as i64),
        (Quantity::SilentMonths, silent as i64),
    ] {
        table.rows.push(of_fleet(quantity, count, Own::default()));
    }
    Ok(())
}

/// How many times are known to the day only, by table.
fn precision(evidence: &Evidence, table: &mut Table) {
    let precision = &evidence.derived.precision;
    for (records, (by_day, all)) in [
        (records::Table::Inspections, precision.looks),
        (records::Table::Cleanings, precision.cleanings),
        (records::Table::Matings, precision.matings),
        (records::Table::Faults, precision.faults),
        (records::Table::EndFaces, precision.end_faces),
    ] {
        let estimate = wilson(by_day as f64, all as f64, evidence.rules().level);
        let own = Own { table: Some(records), ..Own::default() };
        let group = Group::default();
        table.rows.push(Row::of(By::Table, group, Quantity::DayPrecision, &estimate, own));
    }
}

/// Looks without a readable picture, by site.
fn unreadable(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let columns = by!(Site);
    for site in evidence.groups::<Unreadable>(&Rows::all(), &columns)? {
        let unreadable::Row { looks, unreadable, failing: _ } = site.counts;
        let estimate = wilson(unreadable as f64, looks as f64, evidence.rules().level);
        let group = Group::of(&columns.columns(), &site.words);
        table.rows.push(Row::of(By::Site, group, Quantity::Unreadable, &estimate, Own::default()));
    }
    Ok(())
}
