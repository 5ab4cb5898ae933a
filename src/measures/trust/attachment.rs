//! How faults found their matings, and what became of their tickets.

use super::declared::{Attached, Own, Quantity, Row, Table};
use super::sources::{Sources, of_fleet};
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Faults, How};

/// How the faults of the look-back found their matings, and fault sources that have none.
pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    let mut outside = 0i64;
    let mut push = |how, faults| {
        let own = Own { how: Some(how), ..Own::default() };
        table.rows.push(of_fleet(Quantity::FaultsAttached, faults, own));
    };
    let found = evidence.along::<How, Faults>(&evidence.looked_back(), &by!())?;
    for (how, counted) in found.iter().flat_map(|fleet| &fleet.cells) {
        outside = outside.saturating_add(counted.outside);
        push(Attached::from(*how), counted.faults);
    }
    push(Attached::Outside, outside);
    let [faults, tickets] = found.iter().fold([0i64, 0i64], |sum, fleet| {
        let counted = fleet.total();
        [sum[0].saturating_add(counted.faults), sum[1].saturating_add(counted.tickets)]
    });
    let merged = of_fleet(Quantity::MergedTickets, tickets.saturating_sub(faults), Own::default());
    table.rows.push(Row { n: tickets as f64, ..merged });
    let ambiguous = evidence.derived.ambiguous as i64;
    table.rows.push(of_fleet(Quantity::AmbiguousTickets, ambiguous, Own::default()));
    for source in &evidence.derived.empty_fault_sources {
        let own = Own { source: Some(source.clone()), ..Own::default() };
        table.rows.push(of_fleet(Quantity::EmptyFaultSource, 0, own));
    }
    Ok(())
}
