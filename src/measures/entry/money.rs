//! What one dirty end face costs, by the stage at which it arrives (5.6): for what an avoided
//! percentage point of entry would save.
//!
//! Looked at, it costs the cycles that contaminated first looks of the stage had: their cleanings and
//! closing looks, minutes and material, and the share rejected. Not looked at, it goes into a mating:
//! what skipped inspections are associated with there (the fleet's share of the cost of linked faults
//! after skipped looks, 5.5, of the stage's own costs, each per unseen end), over the share of first
//! looks of the stage that are contaminated, since only the dirty ones can have caused it. A passage
//! that ends in a look stands for `u / (1 - u)` more that nobody looked at, `u` being the share of ends
//! of matings of the stage that nobody looked at.
//!
//! Left out: dirt that goes on to later stages unseen, damage that dirt leaves on the partner, faults
//! at stages without light, delays, and what avoiding would cost.

use std::collections::BTreeMap;

use crate::derive::{Cell, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::skipped_cost::{self, By, Exposure, Quantity};

/// Costs of a dirty arrival at one stage, minor units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::measures) struct Arrival {
    /// Where it is looked at: cleaning, looking again, rejects.
    pub cleaning: f64,
    /// For each that is looked at, what those cost that are not, were all of the cost of faults after
    /// skipped looks associated with the skipping.
    pub downstream: f64,
}

/// The share of that cost that is (5.5), with its limits; none where there is no ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::measures) struct Associated {
    pub share: f64,
    pub low: f64,
    pub high: f64,
}

impl Associated {
    /// From the fleet's row of attributable cost, and that row.
    pub(in crate::measures) fn of(
        skipped: &skipped_cost::Table,
    ) -> Option<(Associated, &skipped_cost::Row)> {
        let mut rows = skipped.rows_of(By::Fleet, Quantity::AttributableCost);
        let row = rows.find(|row| row.own.exposure == Some(Exposure::Skipped))?;
        let cost = Some(row.own.fault_cost?.0 as f64).filter(|cost| *cost > 0.0)?;
        let (share, low, high) = (row.estimate? / cost, row.low? / cost, row.high? / cost);
        Some((Associated { share, low, high }, row))
    }
}

/// Costs of a dirty arrival, stage by stage.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn arrivals(
    evidence: &Evidence,
    stages: &[String],
) -> Result<Vec<Arrival>, DeriveError> {
    let cleaning = cleaning(evidence)?;
    let downstream = downstream(evidence)?;
    let arrival = |stage: &String| Arrival {
        cleaning: cleaning.get(stage).copied().unwrap_or(0.0),
        downstream: downstream.get(stage).copied().unwrap_or(0.0),
    };
    Ok(stages.iter().map(arrival).collect())
}

/// Minor units that a contaminated first look led to on average.
fn cleaning(evidence: &Evidence) -> Result<BTreeMap<String, f64>, DeriveError> {
    let costs = evidence.costs();
    let minute = costs.labour_hour as f64 / 60.0;
    let a_cleaning = costs.cleaning_minutes * minute + costs.cleaning_material as f64;
    let a_look = costs.look_minutes * minute;
    let only = evidence.look_back().with("view", &["all"]);
    let sums = ["passed", "rejected", "left", "censored", "cleanings"];
    let cells = evidence.cells("cycles", &only, &["stage", "cycle"], &sums)?;
    let mut found: BTreeMap<String, (f64, f64)> = BTreeMap::new();
    for cell in &cells {
        let own = found.entry(cell.group[0].clone()).or_default();
        let visits: i64 = cell.sums[..4].iter().sum();
        let looks = visits as f64 * f64::from(cell.places[1]);
        own.0 += visits as f64;
        own.1 += looks * a_look
            + cell.sums[4] as f64 * a_cleaning
            + cell.sums[1] as f64 * costs.reject as f64;
    }
    let mean = |(stage, (visits, cost)): (String, (f64, f64))| {
        (visits > 0.0).then(|| (stage, cost / visits))
    };
    Ok(found.into_iter().filter_map(mean).collect())
}

/// Minor units of faults after skipped looks, per looked-at dirty arrival.
fn downstream(evidence: &Evidence) -> Result<BTreeMap<String, f64>, DeriveError> {
    let by_stage = |cells: Vec<Cell>| -> BTreeMap<String, Vec<f64>> {
        let sums = |cell: &Cell| cell.sums.iter().map(|sum| (*sum).max(0) as f64).collect();
        cells.into_iter().map(|cell| (cell.group[0].clone(), sums(&cell))).collect()
    };
    let stage = ["stage"];
    let known = evidence.look_back().with("coverage", &["both", "one", "none", "despite-fail"]);
    let matings =
        by_stage(evidence.cells("matings", &known, &stage, &["matings", "unseen_ends"])?);
    let skipped = evidence.look_back().with("coverage", &["one", "none"]);
    let skipped = skipped.with("after_fault", &["no"]);
    let faults =
        by_stage(evidence.cells("follow_up", &skipped, &stage, &["unseen_ends", "cost"])?);
    let routine = evidence.look_back().with("row", &["routine"]);
    let looks = by_stage(evidence.cells("visits", &routine, &stage, &["looks", "contaminated"])?);
    let ratio = |sums: Option<&Vec<f64>>, over: usize, under: usize, times: f64| {
        let sums = sums.filter(|sums| sums[under] > 0.0)?;
        Some(sums[over] / (times * sums[under]))
    };
    let of = |stage: &String| {
        let unseen = ratio(matings.get(stage), 1, 0, 2.0)?.min(0.99);
        let each = ratio(faults.get(stage), 1, 0, 1.0)?;
        let dirty = ratio(looks.get(stage), 1, 0, 1.0).filter(|dirty| *dirty > 0.0)?;
        Some((stage.clone(), unseen / (1.0 - unseen) * each / dirty))
    };
    Ok(matings.keys().filter_map(of).collect())
}
