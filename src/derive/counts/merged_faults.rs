//! Faults (5.4) as merged from tickets, by how they found their mating and how long they lasted.

use super::codes::*;
use super::declare::declare_counts;
use super::rates::{RateCounts, downtimes, restores};
use super::table::CountTable;
use crate::calendar::SECOND_US;
use crate::derive::face::event::NO_MATING;
use crate::derive::mating::fault::Fault;
use crate::derive::mating::follow_up::Following;

declare_counts! {
    /// Faults as merged (5.4).
    faults: Faults by {
        quarter: QuarterNo, site: Site, stage: Stage, family: Family, cause: Cause, level: Level,
        how: How,
    } counting {
        /// Faults.
        faults: Count,
        /// Tickets that they were merged from.
        tickets: Count,
        /// Faults that say how long service was out.
        downtime_stated: Count,
        /// Time that service was out, as stated.
        downtime_min: Minutes,
        /// Faults of which the clearing is known.
        restored: Count,
        /// Time from opening to clearing of these.
        restore_s: Seconds,
        /// Faults attached to a mating that was not in force then.
        outside: Count,
    }
}

/// Counts one fault under the stage and family of its mating, or where it was found.
pub(super) fn tally(
    fault: &Fault,
    (stage, family): (u8, u32),
    with: &Following,
    counts: &mut CountTable<Faults>,
    rates: &mut RateCounts,
) {
    let quarter = with.calendar.quarters.piece(fault.opened).map(QuarterNo);
    let (site, stage, family) = (Site(fault.site), stage.into(), Family(family));
    let (cause, level, how) = (Cause(fault.cause), fault.level, fault.how);
    let cell =
        quarter.map(|quarter| faults::Key { quarter, site, stage, family, cause, level, how });
    let row = faults::Row {
        faults: 1,
        tickets: fault.tickets.into(),
        downtime_stated: fault.downtime_min.is_some().into(),
        downtime_min: fault.downtime_min.unwrap_or(0),
        restored: fault.restore_s.is_some().into(),
        restore_s: fault.restore_s.unwrap_or(0),
        outside: (fault.mating != NO_MATING && !fault.inside).into(),
    };
    counts.add(cell, row);
    let so_far = || fault.open.then(|| (with.period_end - fault.opened).max(0) / SECOND_US);
    let seconds = fault.restore_s.or_else(so_far);
    let minutes = seconds.and_then(|seconds| u32::try_from(seconds / 60).ok());
    let timed = quarter.zip(minutes.map(Minutes)).filter(|_| with.in_period(fault.opened));
    let cell = timed.map(|(quarter, minutes)| restores::Key {
        quarter,
        site,
        stage,
        family,
        level,
        minutes,
    });
    let open = fault.open.into();
    rates.restores.add(cell, restores::Row { faults: 1 - open, open });
    let row = downtimes::Row {
        faults: 1,
        stated: fault.downtime_min.is_some().into(),
        downtime_min: fault.downtime_min.unwrap_or(0),
    };
    let cell = quarter.map(|quarter| downtimes::Key { quarter, site, stage, family, level });
    rates.downtimes.add(cell, row);
}
