//! 5.10, Q10: can these records be trusted? Row accounts, attachment of faults, precision of times,
//! conflicts, silence.

use crate::derive::DeriveError;
use crate::measures::coverage;
use crate::measures::evidence::Evidence;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::wilson;
use crate::store::FileAccount;

const OWN: &[&str] =
    &["source", "file", "read", "loaded", "superseded", "duplicate", "quarantined", "how", "table"];

/// The table of trust.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn trust(
    evidence: &Evidence,
    accounts: &[FileAccount],
    coverage: &coverage::Table,
) -> Result<Table, DeriveError> {
    let mut table = Table::empty("trust", OWN);
    for account in accounts {
        file_rows(account, &mut table);
    }
    attachment(evidence, &mut table)?;
    precision(evidence, &mut table);
    unreadable(evidence, &mut table)?;
    let counts = &evidence.derived.counts;
    for (quantity, count) in [
        ("conflicts", counts.conflicts as i64),
        ("findings-missing", counts.first_pass.findings_missing as i64),
    ] {
        push_count(&mut table, "fleet", Group::default(), quantity, count, &[]);
    }
    let silent = coverage.quantity(coverage::Quantity::SilentMonth).count() as i64;
    push_count(&mut table, "fleet", Group::default(), "silent-months", silent, &[]);
    for source in &evidence.derived.empty_fault_sources {
        let own = [("source", Value::Text(source.clone()))];
        push_count(&mut table, "fleet", Group::default(), "fault-source-without-faults", 0, &own);
    }
    Ok(table)
}

/// Adds a plain count.
fn push_count(
    table: &mut Table,
    by: &'static str,
    group: Group,
    quantity: &'static str,
    count: i64,
    values: &[(&str, Value)],
) {
    let mut row = Row::figure(by, group, quantity, Unit::Count, count as f64, "count");
    (row.n, row.events) = (count as f64, Some(count));
    let own = table.fill(values);
    table.rows.push(row.with(own));
}

fn file_rows(account: &FileAccount, table: &mut Table) {
    let text = |word: &str| Value::Text(word.to_owned());
    let rows = &account.rows;
    let count = |count: u64| Value::Count(count as i64);
    let values = [
        ("source", text(&account.source)),
        ("file", text(&account.file)),
        ("read", count(rows.read)),
        ("loaded", count(rows.loaded)),
        ("superseded", count(rows.superseded)),
        ("duplicate", count(rows.duplicate)),
        ("quarantined", count(rows.quarantined)),
    ];
    push_count(table, "file", Group::default(), "rows", rows.read as i64, &values);
}

/// How the faults of the look-back found their matings.
fn attachment(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let mut outside = 0;
    for cell in evidence.cells("faults", &evidence.look_back(), &["how"], &["faults", "outside"])? {
        outside += cell.sums[1];
        let how = Value::Text(cell.group[0].clone());
        push_count(
            table,
            "fleet",
            Group::default(),
            "faults-attached",
            cell.sums[0],
            &[("how", how)],
        );
    }
    let how = Value::Text("outside".to_owned());
    push_count(table, "fleet", Group::default(), "faults-attached", outside, &[("how", how)]);
    Ok(())
}

fn precision(evidence: &Evidence, table: &mut Table) {
    let precision = &evidence.derived.precision;
    let tables = [
        ("inspections", precision.looks),
        ("cleanings", precision.cleanings),
        ("matings", precision.matings),
    ];
    for (name, (by_day, all)) in tables {
        let estimate = wilson(by_day as f64, all as f64, evidence.rules().level);
        let row = Row::of("table", Group::default(), "day-precision", Unit::Share, &estimate);
        let own = table.fill(&[("table", Value::Text(name.to_owned()))]);
        table.rows.push(row.with(own));
    }
}

/// Looks without a readable picture, by site.
fn unreadable(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let all = crate::derive::Only::all();
    for cell in evidence.cells("unreadable", &all, &["site"], &["looks", "unreadable"])? {
        let (looks, dark) = (cell.sums[0], cell.sums[1]);
        let estimate = wilson(dark as f64, looks as f64, evidence.rules().level);
        let group = Group::of(&["site"], &cell.group);
        table.rows.push(
            Row::of("site", group, "unreadable", Unit::Share, &estimate).with(table.fill(&[])),
        );
    }
    Ok(())
}
