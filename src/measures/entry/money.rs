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

use crate::by;
use crate::derive::counts::{
    AfterFault, Counted, Coverage, CycleNo, Cycles, FollowUp, Matings, QuarterNo, Stage, View,
    VisitRow, Visits,
};
use crate::derive::{DeriveError, Group};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group as Place;
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
    // A stage without contaminated looks, matings or faults has no cost of them.
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
    let rows = evidence.looked_back().with([View::All]);
    let mut found = BTreeMap::new();
    for mut stage in evidence.along::<CycleNo, Cycles>(&rows, &by!(Stage))? {
        let (mut visits, mut cost) = (0.0, 0.0);
        for (cycle, row) in &stage.cells {
            let left = (row.passed + row.rejected + row.left + row.censored) as f64;
            visits += left;
            cost += left * f64::from(cycle.0) * a_look
                + row.cleanings as f64 * a_cleaning
                + row.rejected as f64 * costs.reject as f64;
        }
        if let Some(stage) = stage.words.pop().filter(|_| visits > 0.0) {
            found.insert(stage, cost / visits);
        }
    }
    Ok(found)
}

/// Two counts of a stage, nothing negative among them.
type Pair = (f64, f64);

/// Two counts of every stage.
fn by_stage<T: Counted>(
    groups: Vec<Group<T>>,
    pair: impl Fn(&T::Row) -> (i64, i64),
) -> BTreeMap<String, Pair> {
    let of = |mut group: Group<T>| {
        let (x, y) = pair(&group.counts);
        Some((group.words.pop()?, (x.max(0) as f64, y.max(0) as f64)))
    };
    groups.into_iter().filter_map(of).collect()
}

/// Minor units of faults after skipped looks, per looked-at dirty arrival.
fn downstream(evidence: &Evidence) -> Result<BTreeMap<String, f64>, DeriveError> {
    let known = evidence.looked_back().with(Coverage::known());
    let matings = evidence.groups::<Matings>(&known, &by!(Stage))?;
    let matings = by_stage(matings, |row| (row.unseen_ends, row.matings));
    let skipped = evidence.looked_back().with([Coverage::One, Coverage::None]);
    let skipped = skipped.with([AfterFault::No]);
    // Of matings that have run their horizon: of later ones not all faults are known.
    let whole = |quarter: u32| evidence.months.is_whole(quarter);
    let mut unseen: BTreeMap<String, Pair> = BTreeMap::new();
    for mut stage in evidence.along::<QuarterNo, FollowUp>(&skipped, &by!(Stage))? {
        let ends = stage.cells.iter().filter(|(quarter, _)| whole(quarter.0));
        let ends = ends.map(|(_, row)| row.unseen_ends.max(0) as f64).sum();
        if let Some(stage) = stage.words.pop() {
            unseen.insert(stage, (ends, 0.0));
        }
    }
    let prices = evidence.prices();
    let cost = |stage: &String| {
        let here = Place { stage: Some(stage.clone()), ..Place::default() };
        let skipped = [Some(Coverage::One), Some(Coverage::None)];
        prices.price(&here, |line| whole(line.quarter) && skipped.contains(&line.coverage)).cost
    };
    let cost_each = |stage: &String| {
        let (ends, _) = unseen.get(stage).filter(|(ends, _)| *ends > 0.0)?;
        Some(cost(stage)?.max(0.0) / ends)
    };
    let routine = evidence.looked_back().with([VisitRow::Routine]);
    let looks = evidence.groups::<Visits>(&routine, &by!(Stage))?;
    let looks = by_stage(looks, |row| (row.contaminated, row.looks));
    let ratio = |pair: Option<&Pair>| {
        let (over, under) = pair.filter(|(_, under)| *under > 0.0)?;
        Some(over / under)
    };
    let of = |stage: &String| {
        // Every mating has two ends.
        let unseen = (ratio(matings.get(stage))? / 2.0).min(0.99);
        let each = cost_each(stage)?;
        let dirty = ratio(looks.get(stage)).filter(|dirty| *dirty > 0.0)?;
        Some((stage.clone(), unseen / (1.0 - unseen) * each / dirty))
    };
    Ok(matings.keys().filter_map(of).collect())
}
