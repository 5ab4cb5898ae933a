//! Passing looks that are not written down: months in which looks are missing that must have been made.
//!
//! After a failing look and a cleaning somebody looks again; where that look is not in the records though it is elsewhere or
//! at other times, looks are left out. They are passing ones if in the same months more of the recorded first looks fail.
//! The two shares rest on different looks: without the fault they do not move together.

use super::super::declared::{Quantity, Recording, Table};
use super::super::sources::Sources;
use super::cells::{LookedAtCells, Unclustered, cautious_slope, failing, number};
use super::check::difference;

pub(super) fn rows(from: &Sources, cells: &LookedAtCells, table: &mut Table) {
    let by_month = cells.sums(|cell| (cell.month, cell.place[0]));
    let over_months: Vec<Unclustered> = cells
        .cells
        .iter()
        .filter_map(|cell| {
            let counts = by_month.get(&(cell.month, cell.place[0]))?;
            let closed = counts.closed as f64 / counts.cleaned as f64;
            (counts.cleaned > 0).then(|| failing(cell, number(cell.place), closed))
        })
        .collect();
    let found = cautious_slope(&over_months, from.evidence.rules().level);
    let unrecorded = Recording::PassingUnrecorded;
    let row = difference(Quantity::PassingUnrecorded, unrecorded, &found, |slope| slope < 0.0);
    table.rows.push(row);
}
