//! Whether linked faults become more or less frequent from quarter to quarter (5.4): Laplace's test, and
//! the growth of a power law.
//!
//! Time is what has been in force so far, in connection-months, so that a growing fleet shows no trend
//! of its own. Counts vary with the scatter of site-weeks, or with that of the quarters about the
//! trend where that is more.

use super::scatter::Spread;
use super::{MONTH_S, own};
use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{Spell, grouped_laplace, grouped_power_law, scatter_about};

/// Fewest quarters in which a trend is looked for: two more than are fitted.
const LEAST_QUARTERS: usize = 4;
/// Fewest faults behind a trend that is not `thin` (the normal approximation of Laplace's test).
const LEAST_FAULTS: u64 = 5;

/// Adds the fleet's trend; nothing with fewer than four quarters.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn rate_trend(evidence: &Evidence, phi: f64, table: &mut Table) -> Result<(), DeriveError> {
    let sums = ["linked", "linked_s"];
    let cells = evidence.cells("in_force", &evidence.so_far(), &["quarter"], &sums)?;
    let spells: Vec<Spell> = cells
        .iter()
        .map(|cell| Spell {
            events: cell.sums[0].max(0) as u64,
            exposure: cell.sums[1].max(0) as f64 / MONTH_S,
        })
        .filter(|spell| spell.exposure > 0.0)
        .collect();
    if spells.len() < LEAST_QUARTERS {
        return Ok(());
    }
    let level = evidence.rules().level;
    let plain = grouped_power_law(&spells, phi, level);
    let about = plain.value.and_then(|growth| scatter_about(&spells, growth));
    let phi = about.map_or(phi, |about| about.max(phi));
    let growth = grouped_power_law(&spells, phi, level);
    let test = grouped_laplace(&spells, phi);
    let spread =
        Spread { phi, p: test.map(|test| test.p), clusters: spells.len() as u64, few: false };
    let seconds = cells.iter().fold(0_i64, |sum, cell| sum.saturating_add(cell.sums[1].max(0)));
    let values = own(table, "linked", seconds, Some(&spread));
    let thin = (growth.events < LEAST_FAULTS).then_some(Flag::Thin);
    let flags: Vec<Flag> = thin.into_iter().chain(evidence.guessed_cover(None)).collect();
    let row = Row::of("fleet", Group::default(), "rate-growth", Unit::Ratio, &growth);
    table.rows.push(row.with(values.clone()).flagged(flags.clone()));
    if let Some(test) = test {
        let square = test.u * test.u;
        let quantity = "rate-trend";
        let method = "Laplace, counts of quarters";
        let unit = Unit::ChiSquare;
        let mut row = Row::figure("fleet", Group::default(), quantity, unit, square, method);
        (row.n, row.events) = (1.0, i64::try_from(growth.events).ok());
        let values: Vec<Value> = values;
        table.rows.push(row.with(values).flagged(flags));
    }
    Ok(())
}
