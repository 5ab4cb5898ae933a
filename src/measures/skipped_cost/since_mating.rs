//! Cumulative hazard of the first linked fault since mating, by coverage (the curve of Q5).

use super::declared::{By, Faults, Own, Quantity, Row, Table};
use crate::by;
use crate::calendar::{DAY_S, days_of};
use crate::derive::counts::{AfterFault, Coverage, Day, SinceMating};
use crate::derive::{Along, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates::{BlockFaults, Certainty};
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::{Band, hazard_curve};

/// Adds a row a day and coverage: faults per 1,000 matings up to the end of that day, of matings of
/// the look-back that were not made after a fault.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn since_mating(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let rows = evidence.looked_back().with([AfterFault::No]);
    let columns = by!(Coverage);
    let rows = rows.with(Coverage::shown());
    // A site's blocks of time share their luck whatever was seen in them: the scatter is that of all matings (5.4).
    let phi = BlockFaults::by_horizon(evidence).of_all(Certainty::Linked).1.phi;
    for class in evidence.along::<Day, SinceMating>(&rows, &columns)? {
        let group = Group::of(&columns.columns(), &class.words);
        class_rows(evidence, (&group, phi), &class, table);
    }
    Ok(())
}

/// Matings at risk on each day, and the curve's bands of one day.
fn bands(class: &Along<SinceMating, Day>, days: u32) -> (Vec<i64>, Vec<Band>) {
    let (mut at_risk, mut entered_so_far, mut left_before) = (Vec::new(), 0, 0);
    let mut bands = Vec::new();
    for day in (0..days).map(Day) {
        let found = class.cells.iter().find(|(known, _)| *known == day);
        let counts = found.map(|(_, counts)| *counts).unwrap_or_default();
        entered_so_far += counts.entered;
        let present = entered_so_far - left_before;
        left_before += counts.left;
        // Whole days of all present, less what entry and exit days lacked.
        let seconds = (present * DAY_S + counts.part_s).max(0);
        at_risk.push(present);
        bands.push(Band {
            width: 1.0,
            events: counts.linked.max(0) as u64,
            exposure: days_of(seconds),
        });
    }
    (at_risk, bands)
}

fn class_rows(
    evidence: &Evidence,
    (group, phi): (&Group, f64),
    class: &Along<SinceMating, Day>,
    table: &mut Table,
) {
    let (at_risk, bands) = bands(class, evidence.rules().horizon_days);
    let matings = class.total().entered;
    let curve = hazard_curve(&bands, phi, evidence.rules().level);
    for (day, (estimate, at_risk)) in (1..).zip(curve.iter().zip(at_risk)) {
        let own = Own {
            faults: Some(Faults::Linked),
            day: Some(day),
            at_risk: Some(at_risk),
            ..Own::default()
        };
        let quantity = Quantity::CumulativeHazard;
        let row = Row::of(By::Coverage, group.clone(), quantity, estimate, own).scaled(1000.0);
        let thin = at_risk < evidence.rules().least_count.into();
        let row = Row { n: matings as f64, ..row };
        table.rows.push(row.flagged(thin.then_some(Flag::Thin)));
    }
}
