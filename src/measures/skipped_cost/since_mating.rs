//! Cumulative hazard of the first linked fault since mating, by coverage (the curve of Q5).

use crate::derive::{Cell, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{Band, hazard_curve};

const SUMS: &[&str] = &["entered", "left", "part_s", "linked"];
const DAY_S: i64 = 86_400;

/// Adds a row a day and coverage: faults per 1,000 matings up to the end of that day, of matings of
/// the look-back that were not made after a fault.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn since_mating(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let only = evidence.look_back().with("after_fault", &["no"]);
    let cells = evidence.cells("since_mating", &only, &["coverage", "day"], SUMS)?;
    for class in cells.chunk_by(|a, b| a.places[0] == b.places[0]) {
        class_rows(evidence, class, table);
    }
    Ok(())
}

/// Matings at risk on each day, and the curve's bands of one day.
fn bands(class: &[Cell], days: u32) -> (Vec<i64>, Vec<Band>) {
    let (mut at_risk, mut entered_so_far, mut left_before) = (Vec::new(), 0, 0);
    let mut bands = Vec::new();
    for day in 0..days {
        let cell = class.iter().find(|cell| cell.places[1] == day);
        let sum = |at: usize| cell.map_or(0, |cell| cell.sums[at]);
        entered_so_far += sum(0);
        let present = entered_so_far - left_before;
        left_before += sum(1);
        // Whole days of all present, less what entry and exit days lacked.
        let seconds = (present * DAY_S + sum(2)).max(0);
        at_risk.push(present);
        bands.push(Band {
            width: 1.0,
            events: sum(3).max(0) as u64,
            exposure: seconds as f64 / DAY_S as f64,
        });
    }
    (at_risk, bands)
}

fn class_rows(evidence: &Evidence, class: &[Cell], table: &mut Table) {
    let (at_risk, bands) = bands(class, evidence.rules().horizon_days);
    let matings: i64 = class.iter().map(|cell| cell.sums[0]).sum();
    let curve = hazard_curve(&bands, evidence.rules().level);
    for (day, (estimate, at_risk)) in (1i64..).zip(curve.iter().zip(at_risk)) {
        let group = Group::of(&["coverage"], &class[0].group);
        let mut row =
            Row::of("coverage", group, "cumulative-hazard", Unit::PerThousandMatings, estimate)
                .scaled(1000.0);
        row.n = matings as f64;
        let values = [
            ("faults", Value::Text("linked".to_owned())),
            ("day", Value::Count(day)),
            ("at_risk", Value::Count(at_risk)),
        ];
        let thin = at_risk < evidence.rules().least_count.into();
        table.rows.push(row.with(table.fill(&values)).flagged(thin.then_some(Flag::Thin)));
    }
}
