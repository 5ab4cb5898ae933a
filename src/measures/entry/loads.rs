//! 5.6: how much dirt comes with each mating and each month between two visits, and how often a look
//! at a clean end face raises a false alarm.

use super::declared::{By, Own, Quantity, Row, Table};
use super::passages::Lifecycle;
use crate::by;
use crate::calendar::MONTH_S;
use crate::derive::DeriveError;
use crate::derive::counts::{
    DayClass, FromStage, MatingClass, PassageLoads, QuarterNo, SecondLookCounts, Site, Stage,
    second_looks,
};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::{Estimate, SegmentFit, SegmentRow, effective_share};

/// The share of second looks, at end faces that had just passed, that failed for contamination. It
/// also holds dirt that the first look missed: an upper bound of the false alarms. Its clusters are quarters of a site, as
/// long as luck can last.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn false_alarm(evidence: &Evidence) -> Result<Estimate, DeriveError> {
    let rows = evidence.looked_back::<SecondLookCounts>();
    let fleet = evidence.clusters(&rows, &by!(), &by!(Site, QuarterNo))?;
    let count = |row: &second_looks::Row| (row.looks, row.failing);
    let sums = fleet.first().map(|fleet| fleet.sums(count)).unwrap_or_default();
    Ok(effective_share(&sums, evidence.rules().level))
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
    let by = by!(FromStage, Stage, MatingClass, DayClass);
    let mut rows: Vec<SegmentRow> = Vec::new();
    for alike in evidence.groups::<PassageLoads>(&evidence.looked_back(), &by)? {
        let [from, to, ..] = alike.places[..] else { continue };
        let passages = alike.counts.passages.max(0) as f64;
        if !lifecycle.has((from, to)) || passages <= 0.0 {
            continue;
        }
        let mut row = lifecycle.row((from, to));
        (row.n, row.events) = (passages, alike.counts.dirty.max(0) as f64);
        let matings = alike.counts.matings_between.max(0) as f64;
        let months = alike.counts.seconds.max(0) as f64 / MONTH_S;
        row.exposure.extend([matings / passages, months / passages]);
        rows.push(row);
    }
    let columns = lifecycle.segments() + 2;
    let fit = SegmentFit::of(&rows, columns);
    for (column, quantity) in
        [(columns - 2, Quantity::PerMating), (columns - 1, Quantity::PerMonth)]
    {
        let Some(group) = fit.group_of(column) else { continue };
        let found = fit.interval(group, evidence.rules().level, inflation);
        let alone = fit.groups[group].len() == 1;
        let known = alone && fit.is_identified(group);
        let p = known.then(|| fit.against_zero(group, inflation));
        let own = Own {
            hazard: found.hazard.value.filter(|_| known),
            hazard_low: found.hazard.low,
            hazard_high: found.hazard.high,
            deff: Some(inflation),
            p: p.filter(|p| p.is_finite()),
            ..Own::default()
        };
        let mut row = Row::of(By::Fleet, Group::default(), quantity, &found.chance, own);
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
