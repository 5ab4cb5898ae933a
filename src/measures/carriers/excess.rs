//! Dirt of a listed carrier beyond others': what its worth rests on (5.8, 5.11).

use super::declared::{By, Carrier, Quantity, Row, Table};

/// Dirty results to be expected from the others of its cells alone, its own left out, had they done all that a listed
/// carrier was used for: what its ratios are over. None where the others left nothing dirty.
///
/// What an end face touched is counted, whether or not somebody looked before and after: only what was looked at is a
/// trial.
pub fn expected_of_others(table: &Table, row: &Row) -> Option<f64> {
    let (dirty, ratio) = (row.events?, row.estimate?);
    (ratio > 0.0).then(|| dirty as f64 / ratio * times_used(table, row))
}

/// How many times as often a listed carrier was used as it has trials in cells that others share: by what an end face
/// touched, where its time line is kept; else by all its trials.
fn times_used(table: &Table, row: &Row) -> f64 {
    let of_its_own = |touch: &&Row| {
        let site = row.group.site.is_none() || touch.group.site == row.group.site;
        touch.own.entity == row.own.entity && site
    };
    let of_end_face = row.own.kind == Some(Carrier::EndFace);
    let touches = table.rows_of(By::EntityPartner, Quantity::Touch);
    let touches = touches.filter(|_| of_end_face).filter(of_its_own).count() as f64;
    let used = touches.max(row.own.trials.unwrap_or(0) as f64);
    if row.n > 0.0 { (used / row.n).max(1.0) } else { 1.0 }
}
