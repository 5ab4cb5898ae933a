//! What proposals take from the results of other questions.

use super::flows::{CarrierExcess, Experience, StepHazard};
use crate::measures::actions::{self, Moves, Reading};
use crate::measures::carriers::Carrier;
use crate::measures::{Flag, carriers, entry};
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

/// What went with the actions: by name, the effect that a proposal of the same kind is judged by. An action begun after a bad
/// quarter counts without that quarter; one whose estimate has another flag, or no limits, has none.
pub fn experiences(table: &actions::Table) -> Vec<Experience> {
    let of = |row: &actions::Row| {
        let chosen = row.flags.contains(&Flag::ChosenWhenBad);
        let row = if chosen { table.reading(row, Reading::WithoutQuarter)? } else { row };
        let before = row.own.before.filter(|_| row.is_firm())?;
        let since = [row.low?, row.estimate?, row.high?].map(|change| before + change);
        let share = |share: f64| share.clamp(1e-6, 1.0 - 1e-6);
        let odds = |of: f64| share(of) / (1.0 - share(of));
        let mut range = since.map(|since| match row.own.moves {
            Some(Moves::Skipped) => Some((1.0 - since).clamp(0.0, 1.0)),
            Some(Moves::PassedFirstCycle) => Some(odds(since) / odds(before)),
            // What is clean at arrival is exp(-hazard).
            Some(Moves::FirstPass) => Some(share(since).ln() / share(before).ln()),
            Some(Moves::LinkedFaults) | None => None,
        });
        range.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
        let [low, value, high] = range;
        Some(Experience {
            action: row.own.action.clone()?,
            moves: row.own.moves?,
            range: [low?, value?, high?],
        })
    };
    table.leading_rows().filter_map(of).collect()
}
