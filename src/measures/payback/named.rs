//! What proposals take from the results of other questions.

use super::flows::{CarrierExcess, StepHazard};
use crate::measures::carriers::Carrier;
use crate::measures::{carriers, entry};
use crate::stats::quantile::normal_quantile;

/// Kinds of carrier whose dirt is on an end face.
pub const DIRTY_ENDS: [Carrier; 2] = [Carrier::EndFace, Carrier::ToolSoiling];
/// The kind whose dirt is left in a cycle.
pub const DIRTY_CYCLES: [Carrier; 1] = [Carrier::ToolCleaning];

/// Hazards by step. A row without an estimate, or of several steps together, is no step.
pub fn entry_hazards(table: &entry::Table) -> Vec<StepHazard> {
    let step = |row: &entry::Row| {
        let single = row.own.reason.is_none() && row.estimate.is_some();
        Some(StepHazard {
            from: row.own.from.clone()?,
            to: row.group.stage.clone()?,
            hazard: row.own.hazard.filter(|_| single)?,
            low: row.own.hazard_low.unwrap_or(0.0),
            high: row.own.hazard_high?,
            passing: row.n,
            flags: row.flags.clone(),
        })
    };
    table.rows_of(entry::By::Step, entry::Quantity::Entry).filter_map(step).collect()
}

/// What the listed carriers pass on beyond others. The excess is of the shrunken ratio: the largest of
/// many is too large by chance.
pub fn carrier_excess(table: &carriers::Table, level: f64) -> Vec<CarrierExcess> {
    let reach = 2.0 * normal_quantile(level);
    let excess = |row: &carriers::Row| {
        let expected = row.own.expected?;
        let width = row.own.shrunken_high? - row.own.shrunken_low?;
        Some(CarrierExcess {
            kind: row.own.kind?,
            site: row.group.site.clone(),
            excess: expected * (row.own.shrunken? - 1.0),
            se: expected * width / reach,
        })
    };
    table.listed().filter_map(excess).collect()
}
