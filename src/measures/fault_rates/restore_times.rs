//! What linked faults of the period cost, how long they lasted, and for how long service was out (5.4).
//!
//! Quartiles: times to restore have a long tail, of which a mean says little. Between order statistics (Conover 1999)
//! where all were cleared; else by Kaplan & Meier, since faults still open lasted longer than those that are known.

use super::declared::{By, Certainty, Own, Quantity, Row, Table};
use crate::calendar::HOUR_S;
use crate::derive::counts::{Downtimes, Faults, Has, Level, Minutes, QuarterNo, Restores};
use crate::derive::{DeriveError, Rows};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::stats::survival_quantile::{Lasted, restricted_mean, survival_quantile};
use crate::stats::{Estimate, order_quantile};

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
    let columns = by.columns::<Restores>();
    let mut lasted: Vec<(Group, Vec<Lasted>)> = Vec::new();
    for found in evidence.along::<Minutes, Restores>(&linked(evidence), &columns)? {
        let times = found.cells.iter().map(|(minutes, row)| Lasted {
            time: f64::from(minutes.0) / MINUTES,
            ended: row.faults.max(0) as u64,
            open: row.open.max(0) as u64,
        });
        let times: Vec<Lasted> = times.collect();
        if times.iter().any(|lasted| lasted.ended > 0) {
            lasted.push((Group::of(&columns.columns(), &found.words), times));
        }
    }
    costs(evidence, by, &lasted, table)?;
    downtime(evidence, by, table)?;
    for (group, times) in lasted {
        for (quantity, share) in QUARTILES {
            let estimate = quartile(&times, share, evidence.rules().level);
            table.rows.push(Row::of(by, group.clone(), quantity, &estimate, own()));
        }
    }
    Ok(())
}

/// Whether some are still open.
fn any_open(times: &[Lasted]) -> bool {
    times.iter().any(|lasted| lasted.open > 0)
}

fn quartile(times: &[Lasted], share: f64, level: f64) -> Estimate {
    if any_open(times) {
        return survival_quantile(times, share, level);
    }
    let hours: Vec<(f64, u64)> = times.iter().map(|lasted| (lasted.time, lasted.ended)).collect();
    order_quantile(&hours, share, level)
}

/// Sums of cost, means of the time to restore.
fn costs(
    evidence: &Evidence,
    by: By,
    lasted: &[(Group, Vec<Lasted>)],
    table: &mut Table,
) -> Result<(), DeriveError> {
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
            let of_group = lasted.iter().find(|(known, _)| *known == group);
            let open = of_group.map(|(_, times)| times).filter(|times| any_open(times));
            let still = |times: &Vec<Lasted>| times.iter().map(|lasted| lasted.open as i64).sum();
            let n = (counts.restored + open.map_or(0, still)) as f64;
            // Those still open lasted at least so long: the mean up to the longest that is seen.
            let (hours, method) = match open.and_then(|times| restricted_mean(times)) {
                Some(hours) => (hours, "mean up to the longest seen"),
                None => (hours, "mean"),
            };
            let row = Row::figure(by, group, Quantity::RestoreHours, hours, method, own());
            let events = Some(counts.restored);
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
