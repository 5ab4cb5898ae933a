//! 5.6: how much dirt comes with each mating and each month between two visits, and how often a look
//! at a clean end face raises a false alarm.

use super::passages::Lifecycle;
use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{Estimate, SegmentFit, SegmentRow, wilson};

/// Seconds of a month of 730.5 hours.
const MONTH: f64 = 2_629_800.0;

/// The share of second looks, at end faces that had just passed, that failed for contamination. It
/// also holds dirt that the first look missed: an upper bound of the false alarms.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn false_alarm(evidence: &Evidence) -> Result<Estimate, DeriveError> {
    let sums = ["looks", "failing"];
    let cells = evidence.cells("second_looks", &evidence.look_back(), &[], &sums)?;
    let sum = |at: usize| cells.iter().map(|cell| cell.sums[at].max(0) as f64).sum::<f64>();
    Ok(wilson(sum(1), sum(0), evidence.rules().level))
}

/// The model of the fleet with a hazard for each mating and each month between the two visits. Within
/// a class of matings and days the mean stands for all.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn load_rows(
    evidence: &Evidence,
    lifecycle: &Lifecycle,
    inflation: f64,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let by = ["from", "stage", "matings", "days"];
    let sums = ["passages", "dirty", "matings_between", "seconds"];
    let cells = evidence.cells("passage_loads", &evidence.look_back(), &by, &sums)?;
    let last = lifecycle.stages.len() as u32;
    let known = |ends: (u32, u32)| ends.0 <= ends.1 && ends.1 < last;
    let mut rows: Vec<SegmentRow> = Vec::new();
    for cell in &cells {
        let ends = (cell.places[0], cell.places[1]);
        let sum = |at: usize| cell.sums[at].max(0) as f64;
        if !known(ends) || sum(0) <= 0.0 {
            continue;
        }
        let mut row = lifecycle.row(ends);
        (row.n, row.events) = (sum(0), sum(1));
        row.exposure.extend([sum(2) / sum(0), sum(3) / MONTH / sum(0)]);
        rows.push(row);
    }
    let columns = lifecycle.segments() + 2;
    let fit = SegmentFit::of(&rows, columns);
    for (column, quantity) in [(columns - 2, "per-mating"), (columns - 1, "per-month")] {
        let Some(group) = fit.group_of(column) else { continue };
        let found = fit.interval(group, evidence.rules().level, inflation);
        let alone = fit.groups[group].len() == 1;
        let known = alone && fit.is_identified(group);
        let own = [
            ("hazard", found.hazard.value.filter(|_| known).into()),
            ("hazard_low", found.hazard.low.into()),
            ("hazard_high", found.hazard.high.into()),
            ("deff", Value::Number(inflation)),
            ("p", known.then(|| fit.against_zero(group, inflation)).into()),
        ];
        let row = Row::of("fleet", Group::default(), quantity, Unit::Share, &found.chance);
        let mut row = row.with(table.fill(&own));
        row.estimate = row.estimate.filter(|_| known);
        let thin = row.n < f64::from(evidence.rules().least_count);
        let flags = [
            (thin, Flag::Thin),
            (!fit.converged, Flag::NotConverged),
            (!known, Flag::NotIdentified),
        ];
        let flags = flags.into_iter().filter_map(|(applies, flag)| applies.then_some(flag));
        table.rows.push(row.flagged(flags));
    }
    Ok(())
}
