//! 5.6, Q6: between which lifecycle stages dirt enters.
//!
//! Routine passages from the last known-clean state of an end face to its next first look. A passage
//! stays clean with the chance `exp(-sum of the hazards passed)`, so a skipped stage widens intervals
//! instead of losing the row. Hazards by constrained maximum likelihood with profile-likelihood
//! limits, the allowed deviance widened for site-weeks (`stats::segment_hazard` and its neighbours).
//! For each: the same less false alarms, the share of all dirt, what an avoided percentage point
//! saves; by dust cap with a test, by family; per mating and per month in between.

mod bracket;
mod declared;
mod fit;
mod less_alarms;
mod loads;
pub(in crate::measures) mod money;
mod passages;
mod shares;

pub use bracket::bracket;
pub use declared::*;

use std::collections::BTreeMap;

use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Cap, PassageKind, Passages};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::measures::skipped_cost;
use crate::stats::segment_split::{common_factor, split_test};
use crate::stats::wilson;
use fit::{Subset, entry_rows};
use less_alarms::LessAlarms;
use passages::{Grouped, Lifecycle, Passage, passages};

/// Dirty passages that either side of a ratio must have.
const FEWEST: f64 = 5.0;

/// The table of entry. `skipped` is the table of skipped cost: what an unseen end costs comes from
/// there.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn entry(evidence: &Evidence, skipped: &skipped_cost::Table) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let lifecycle = Lifecycle::of(evidence);
    let all = passages(evidence, &lifecycle)?;
    let alarms = self::loads::false_alarm(evidence)?;
    let whole = Subset::of(evidence, &lifecycle, &all, |_| true);
    let fleet = Group::default();
    entry_rows(evidence, &whole, (By::Step, Quantity::Entry), &fleet, &mut table);
    if let Some(less) = LessAlarms::of(evidence, &whole, &alarms) {
        less.rows(evidence, &fleet, &mut table);
    }
    by_cap(evidence, &lifecycle, &all, whole.inflation.pooled, &mut table);
    by_family(evidence, &lifecycle, &all, &mut table);
    self::shares::shares_and_savings(evidence, &whole, skipped, &mut table)?;
    let thin = alarms.n < evidence.rules().least_count.into();
    let row = Row::of(By::Fleet, fleet, Quantity::FalseAlarm, &alarms, Own::default());
    table.rows.push(row.flagged(thin.then_some(Flag::Thin)));
    self::loads::load_rows(evidence, &lifecycle, whole.inflation.pooled, &mut table)?;
    kinds(evidence, &mut table)?;
    Ok(table)
}

/// A fit a cap state, the factor of capped against uncapped, and the test whether any step differs.
fn by_cap(
    evidence: &Evidence,
    lifecycle: &Lifecycle,
    all: &[Passage],
    inflation: f64,
    table: &mut Table,
) {
    for cap in Cap::ALL {
        let subset = Subset::of(evidence, lifecycle, all, |passage| passage.cap == *cap);
        let group = Group { capped: Some(cap.word().to_owned()), ..Group::default() };
        entry_rows(evidence, &subset, (By::StepCapped, Quantity::Entry), &group, table);
    }
    let known = all.iter().filter(|passage| passage.cap != Cap::Unknown);
    let (grouped, capped) = Grouped::of(lifecycle, known, |passage| passage.cap == Cap::Capped);
    if grouped.rows.is_empty() {
        return;
    }
    let (columns, level) = (lifecycle.segments(), evidence.rules().level);
    let found = common_factor(&grouped.rows, &capped, columns, level, inflation);
    let own = Own { p: found.p.filter(|p| p.is_finite()), ..Own::default() };
    let row = Row::of(By::Fleet, Group::default(), Quantity::CapFactor, &found.factor, own);
    let dirty = |side: bool| -> f64 {
        let of_side = grouped.rows.iter().zip(&capped).filter(|(_, capped)| **capped == side);
        of_side.map(|(row, _)| row.events).sum()
    };
    let thin = [true, false].into_iter().any(|side| dirty(side) < FEWEST);
    table.rows.push(row.flagged(thin.then_some(Flag::Thin)));
    let parts: Vec<usize> = capped.iter().map(|capped| usize::from(*capped)).collect();
    if let Some(test) = split_test(&grouped.rows, &parts, columns, inflation) {
        let method = "likelihood ratio, over the scatter";
        let own = Own { p: Some(test.p).filter(|p| p.is_finite()), ..Own::default() };
        let (group, quantity) = (Group::default(), Quantity::CapSplit);
        let row = Row::figure(By::Fleet, group, quantity, test.statistic, method, own);
        let stopped = (!test.converged).then_some(Flag::NotConverged);
        table.rows.push(Row { n: test.df as f64, ..row }.flagged(stopped));
    }
}

/// A fit a family that has dirty passages enough to say where their dirt entered.
fn by_family(evidence: &Evidence, lifecycle: &Lifecycle, all: &[Passage], table: &mut Table) {
    let families: BTreeMap<u32, &String> =
        all.iter().map(|passage| (passage.family.0, &passage.family.1)).collect();
    for (place, family) in families {
        let subset = Subset::of(evidence, lifecycle, all, |passage| passage.family.0 == place);
        let dirty: f64 = subset.grouped.rows.iter().map(|row| row.events).sum();
        if dirty >= evidence.rules().least_count.into() {
            let group = Group { family: Some(family.clone()), ..Group::default() };
            entry_rows(evidence, &subset, (By::StepFamily, Quantity::Entry), &group, table);
        }
    }
}

/// All pairs of visits of the look-back: usable ones, and why the others are not.
fn kinds(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    for pairs in evidence.along::<PassageKind, Passages>(&evidence.looked_back(), &by!())? {
        let all = pairs.total().passages as f64;
        for (kind, row) in &pairs.cells {
            let share = wilson(row.passages as f64, all, evidence.rules().level);
            let own = Own { reason: Some(Reason::from(*kind)), ..Own::default() };
            let (group, quantity) = (Group::default(), Quantity::Passages);
            // Visits of one end face, and of end faces that are worked on together, are no independent draws.
            let row = Row::of(By::Reason, group, quantity, &share, own);
            table.rows.push(row.flagged([Flag::Narrow]));
        }
    }
    Ok(())
}
