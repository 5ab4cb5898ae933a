//! What proposals take from tables of other questions, by the names of their columns.

use super::flows::{CarrierExcess, StepHazard};
use crate::measures::table::{Row, Table, Value};
use crate::stats::quantile::normal_quantile;

/// Kinds of carrier whose dirt is on an end face, and that whose dirt is left in a cycle.
pub const DIRTY_ENDS: [&str; 2] = ["end-face", "tool-soiling"];
pub const DIRTY_CYCLES: [&str; 1] = ["tool-cleaning"];

fn number(table: &Table, row: &Row, column: &str) -> Option<f64> {
    match table.own(row, column) {
        Value::Number(number) => Some(*number),
        Value::Count(count) | Value::Money(count) => Some(*count as f64),
        Value::Missing | Value::Text(_) => None,
    }
}

fn text<'t>(table: &'t Table, row: &'t Row, column: &str) -> &'t str {
    match table.own(row, column) {
        Value::Text(text) => text,
        _ => "",
    }
}

/// Hazards by step, from the table `entry` (rows `from+stage` of quantity `entry`: the stage, its own
/// `from`, `hazard`, `hazard_low`, `hazard_high`, n passing).
/// A row without an estimate, or of several steps together, is no step.
pub fn entry_hazards(table: &Table) -> Vec<StepHazard> {
    let step = |row: &Row| {
        let of = |column| number(table, row, column);
        let single = matches!(table.own(row, "reason"), Value::Missing);
        let hazard = of("hazard").filter(|_| single && row.estimate.is_some())?;
        Some(StepHazard {
            from: text(table, row, "from").to_owned(),
            to: row.group.stage.clone()?,
            hazard,
            low: of("hazard_low").unwrap_or(0.0),
            high: of("hazard_high")?,
            passing: row.n,
            flags: row.flags.clone(),
        })
    };
    table.rows_of("from+stage", "entry").filter_map(step).collect()
}

/// What carriers pass on beyond others, from the table `carriers` (rows `kind+entity` of quantity
/// `against-others` whose own `carrier` is `yes`: `kind`, `expected`, `shrunken` with its interval, the
/// site). The excess is of the shrunken ratio: the largest of many is too large by chance.
pub fn carrier_excess(table: &Table, level: f64) -> Vec<CarrierExcess> {
    let reach = 2.0 * normal_quantile(level);
    let excess = |row: &Row| {
        let of = |column| number(table, row, column);
        let expected = of("expected")?;
        let width = of("shrunken_high")? - of("shrunken_low")?;
        Some(CarrierExcess {
            kind: text(table, row, "kind").to_owned(),
            site: row.group.site.clone(),
            excess: expected * (of("shrunken")? - 1.0),
            se: expected * width / reach,
        })
    };
    let rows = table.rows_of("kind+entity", "against-others");
    let listed = rows.filter(|row| text(table, row, "carrier") == "yes" && row.is_firm());
    listed.filter_map(excess).collect()
}
