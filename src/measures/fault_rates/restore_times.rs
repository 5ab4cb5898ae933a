//! What linked faults of the period cost, how long they lasted, and for how long service was out (5.4).
//!
//! Quartiles between order statistics (Conover 1999): times to restore have a long tail, of which a mean
//! says little.

use super::declared::{By, Certainty, Own, Quantity, Row, Table};
use crate::calendar::HOUR_S;
use crate::derive::counts::{Downtimes, Faults, Has, Level, Minutes, QuarterNo, Restores};
use crate::derive::{DeriveError, Rows};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::stats::order_quantile;

/// Quartiles.
const QUARTILES: [(Quantity, f64); 3] = [
    (Quantity::RestoreLowerQuartile, 0.25),
    (Quantity::RestoreMedian, 0.5),
    (Quantity::RestoreUpperQuartile, 0.75),
];
/// Minutes, and seconds, of an hour.
const MINUTES: f64 = 60.0;

/// Linked faults of the period.
fn linked<T: Has<QuarterNo> + Has<Level>>(evidence: &Evidence) -> Rows<T> {
    evidence.reviewed().with([Level::Probable, Level::Confirmed])
}

fn own() -> Own {
    Own::with(Certainty::Linked)
}

/// Adds the rows of one grouping.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn restore_times(
    evidence: &Evidence,
    by: By,
    table: &mut Table,
) -> Result<(), DeriveError> {
    costs(evidence, by, table)?;
    downtime(evidence, by, table)?;
    let columns = by.columns::<Restores>();
    for found in evidence.along::<Minutes, Restores>(&linked(evidence), &columns)? {
        let hours: Vec<(f64, u64)> = found
            .cells
            .iter()
            .map(|(minutes, row)| (f64::from(minutes.0) / MINUTES, row.faults.max(0) as u64))
            .collect();
        for (quantity, share) in QUARTILES {
            let estimate = order_quantile(&hours, share, evidence.rules().level);
            let group = Group::of(&columns.columns(), &found.words);
            table.rows.push(Row::of(by, group, quantity, &estimate, own()));
        }
    }
    Ok(())
}

/// Sums of cost, means of the time to restore.
fn costs(evidence: &Evidence, by: By, table: &mut Table) -> Result<(), DeriveError> {
    let (columns, prices) = (by.columns::<Faults>(), evidence.fault_prices());
    for found in evidence.groups::<Faults>(&linked(evidence), &columns)? {
        let counts = found.counts;
        let group = Group::of(&columns.columns(), &found.words);
        let price = prices.price(&group, |line| evidence.is_reviewed(QuarterNo(line.time)));
        let own_unpriced = Own { unpriced: Some(price.unpriced()), ..own() };
        let row = Row::figure(by, group.clone(), Quantity::FaultCost, 0.0, "sum", own_unpriced);
        let (n, events) = (counts.faults as f64, Some(counts.faults));
        let row = Row { n, events, estimate: price.cost.map(f64::round), ..row };
        table.rows.push(row.flagged(prices.flag(&price, evidence.rules().unpriced_limit)));
        if counts.restored > 0 {
            let hours = counts.restore_s as f64 / HOUR_S as f64 / counts.restored as f64;
            let row = Row::figure(by, group, Quantity::RestoreHours, hours, "mean", own());
            let (n, events) = (counts.restored as f64, Some(counts.restored));
            table.rows.push(Row { n, events, ..row });
        }
    }
    Ok(())
}

/// Hours out of service, as the records of the faults state them; n are all faults, events those that
/// state any.
fn downtime(evidence: &Evidence, by: By, table: &mut Table) -> Result<(), DeriveError> {
    let columns = by.columns::<Downtimes>();
    for found in evidence.groups::<Downtimes>(&linked(evidence), &columns)? {
        let counts = found.counts;
        if counts.stated > 0 {
            let group = Group::of(&columns.columns(), &found.words);
            let hours = counts.downtime_min as f64 / MINUTES;
            let row = Row::figure(by, group, Quantity::DowntimeHours, hours, "sum", own());
            let (n, events) = (counts.faults as f64, Some(counts.stated));
            table.rows.push(Row { n, events, ..row });
        }
    }
    Ok(())
}
