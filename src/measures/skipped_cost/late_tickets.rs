//! Whether the headline hangs on how late tickets come after the repair: its ratio with other windows of tickets (F2)
//! against its interval. Windows that the tickets themselves refute, being shorter than delays that are seen, are no
//! matter.

use super::declared::{By, Exposure, Faults, Quantity, Row, Table};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::stats::Estimate;

/// Flags the rows of the other windows that lie outside the headline's interval, and then the headline and its money.
pub fn flag(evidence: &Evidence, headline: &Estimate, table: &mut Table) {
    let least = evidence.derived.shown_hours;
    let (low, high) = (headline.low.unwrap_or(0.0), headline.high.unwrap_or(f64::INFINITY));
    let mut doubtful = false;
    for row in &mut table.rows {
        let hours = row.own.variant.and_then(|rule| rule.ticket_window());
        let outside = row.estimate.is_some_and(|ratio| ratio < low || high < ratio);
        if outside && hours.is_some_and(|hours| hours >= least) {
            row.flag(Flag::LateTickets);
            doubtful = true;
        }
    }
    if doubtful {
        table
            .rows
            .iter_mut()
            .filter(|row| is_headline(row))
            .for_each(|row| row.flag(Flag::LateTickets));
    }
}

/// The fleet's ratio of skipped matings, and the money that rests on it.
fn is_headline(row: &Row) -> bool {
    let wanted = [Quantity::RateRatio, Quantity::AttributableCost, Quantity::NetSaving];
    row.by == By::Fleet
        && wanted.contains(&row.quantity)
        && row.own.exposure == Some(Exposure::Skipped)
        && row.own.faults == Some(Faults::Linked)
        && row.own.after_fault == Some(false)
}
