//! What linked faults of the period cost, how long they lasted, and for how long service was out (5.4).
//!
//! Quartiles between order statistics (Conover 1999): times to restore have a long tail, of which a mean
//! says little.

use super::own;
use crate::derive::{DeriveError, Only};
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::table::{Group, Row, Table, Unit};
use crate::stats::order_quantile;

/// Quartiles by name.
const QUARTILES: [(&str, f64); 3] = [
    ("restore-hours-lower-quartile", 0.25),
    ("restore-hours-median", 0.5),
    ("restore-hours-upper-quartile", 0.75),
];
const MINUTES: f64 = 60.0;

/// Adds the rows of one grouping.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn restore_times(
    evidence: &Evidence,
    (by, columns): Grouping,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let only = evidence.period().with("level", &["probable", "confirmed"]);
    costs(evidence, &only, (by, columns), table)?;
    downtime(evidence, &only, (by, columns), table)?;
    let depth = columns.len();
    let by_minute: Vec<&str> = columns.iter().copied().chain(["minutes"]).collect();
    let cells = evidence.cells("restores", &only, &by_minute, &["faults"])?;
    for chunk in cells.chunk_by(|a, b| a.places[..depth] == b.places[..depth]) {
        let hours: Vec<(f64, u64)> = chunk
            .iter()
            .map(|cell| (f64::from(cell.places[depth]) / MINUTES, cell.sums[0].max(0) as u64))
            .collect();
        for (quantity, share) in QUARTILES {
            let estimate = order_quantile(&hours, share, evidence.rules().level);
            let group = Group::of(columns, &chunk[0].group[..depth]);
            let row = Row::of(by, group, quantity, Unit::Hours, &estimate);
            let values = own(table, "linked", 0, None);
            table.rows.push(row.with(values));
        }
    }
    Ok(())
}

/// Sums of cost, means of the time to restore.
fn costs(
    evidence: &Evidence,
    only: &Only,
    (by, columns): Grouping,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let sums = ["faults", "cost", "restored", "restore_s"];
    for cell in evidence.cells("faults", only, columns, &sums)? {
        let [faults, cost, restored, restore_s] = std::array::from_fn(|at| cell.sums[at]);
        let group = || Group::of(columns, &cell.group);
        let mut row = Row::figure(by, group(), "fault-cost", Unit::Money, cost as f64, "sum");
        (row.n, row.events) = (faults as f64, Some(faults));
        table.rows.push(row.with(own(table, "linked", 0, None)));
        if restored > 0 {
            let hours = restore_s as f64 / 3600.0 / restored as f64;
            let mut row = Row::figure(by, group(), "restore-hours", Unit::Hours, hours, "mean");
            (row.n, row.events) = (restored as f64, Some(restored));
            table.rows.push(row.with(own(table, "linked", 0, None)));
        }
    }
    Ok(())
}

/// Hours out of service, as the records of the faults state them; n are all faults, events those that
/// state any.
fn downtime(
    evidence: &Evidence,
    only: &Only,
    (by, columns): Grouping,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let sums = ["faults", "stated", "downtime_min"];
    for cell in evidence.cells("downtimes", only, columns, &sums)? {
        let [faults, stated, minutes] = std::array::from_fn(|at| cell.sums[at]);
        if stated <= 0 {
            continue;
        }
        let group = Group::of(columns, &cell.group);
        let hours = minutes as f64 / MINUTES;
        let mut row = Row::figure(by, group, "downtime-hours", Unit::Hours, hours, "sum");
        (row.n, row.events) = (faults as f64, Some(stated));
        table.rows.push(row.with(own(table, "linked", 0, None)));
    }
    Ok(())
}
