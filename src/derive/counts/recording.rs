//! Whether recording follows what it records (5.10): what was looked at and what was found, by site and month; which faults
//! name the record of their mating, by what was known of its ends.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::first_pass::VisitRow;
use super::kept::Tallying;
use super::table::CountTable;
use crate::calendar::SECOND_US;
use crate::derive::face::visit::{Ending, Look, Visit};
use crate::derive::mating::describe::{Coverage, Mating};
use crate::derive::mating::fault::Fault;
use crate::derive::mating::follow_up::{Definition, Followed, Following};
use crate::records::Finding;

declare_counts! {
    /// Ends of matings and routine visits by site and month: the share looked at, and what the looks found (5.10).
    looked_at: LookedAt by { month: MonthNo, site: Site, stage: Stage, family: Family } counting {
        /// Matings of which it is known whether their ends were seen.
        matings: Count,
        /// Their ends that a look could see: all but recessed lenses.
        ends: Count,
        /// Of these, neither seen passing nor seen failing.
        unseen: Count,
        /// Ends seen passing by a look, of matings with one or both ends seen.
        seen: Count,
        /// First faults of causes that dirt cannot produce, of matings with one end seen or none; not of those made shortly
        /// after a fault.
        control_skipped: Count,
        /// Time in force up to them, without a horizon.
        control_skipped_s: Seconds,
        /// The same faults of matings with both ends seen.
        control_both: Count,
        /// Time in force up to them, without a horizon.
        control_both_s: Seconds,
        /// Matings with both ends seen, by looks or as recessed lenses.
        both: Count,
        /// Of these, those with one end seen by a look; the other is a recessed lens.
        both_by_one_look: Count,
        /// Of the matings with both ends seen, those with both seen by looks.
        both_by_two_looks: Count,
        /// Routine visits that began with a look.
        first_looks: Count,
        /// Of these, first looks that failed for anything but a defect.
        failing: Count,
        /// Visits of these with a cleaning.
        cleaned: Count,
        /// Of these, visits that ended with a look.
        closed: Count,
        /// Cleanings made in routine visits, also in those that began without a look.
        cleanings: Count,
    }

    /// Faults attached to matings of known coverage, by whether they name the record of the mating (5.10).
    fault_records: FaultRecords by {
        quarter: QuarterNo, site: Site, level: Level, coverage: Coverage, how: How,
    } counting {
        /// Faults.
        faults: Count,
    }
}

declare_part! {
    /// What the checks of recording are measured from.
    RecordingCounts {
        looked_at: CountTable<LookedAt>,
        fault_records: CountTable<FaultRecords>,
    }
}

/// Counts one visit; one that is not routine is off the table.
pub(super) fn tally_visit(visit: &Visit, with: &Tallying, table: &mut CountTable<LookedAt>) {
    let is_routine = VisitRow::of_visit(visit) == VisitRow::Routine;
    let fails = |look| matches!(look, Some(Look::Fail(found)) if found != Finding::Defect);
    let failing = fails(visit.first);
    let cleaned = failing && visit.cleanings > 0;
    let row = looked_at::Row {
        first_looks: visit.first.is_some().into(),
        failing: failing.into(),
        cleaned: cleaned.into(),
        closed: (cleaned && visit.ending != Ending::Unverified).into(),
        cleanings: visit.cleanings.into(),
        ..Default::default()
    };
    let month = with.calendar.months.piece(visit.start).map(MonthNo).filter(|_| is_routine);
    let cell = month.map(|month| looked_at::Key {
        month,
        site: Site(visit.site),
        stage: visit.stage.into(),
        family: Family(visit.face.family),
    });
    table.add(cell, row);
}

/// Counts one mating, and the faults attached to it.
pub(super) fn tally_mating(mating: &Mating, with: &Following, counts: &mut RecordingCounts) {
    let known = mating.coverage.is_known();
    let unseen = mating.unseen.min(mating.ends);
    let seen = matches!(mating.coverage, Coverage::Both | Coverage::One);
    let both = mating.coverage == Coverage::Both;
    let [control_skipped, control_both] = control(mating, with);
    let row = looked_at::Row {
        control_skipped: control_skipped.0,
        control_skipped_s: control_skipped.1,
        control_both: control_both.0,
        control_both_s: control_both.1,
        matings: 1,
        ends: mating.ends.into(),
        unseen: unseen.into(),
        seen: if seen { (mating.ends - unseen).into() } else { 0 },
        both: both.into(),
        both_by_one_look: (both && mating.ends == 1).into(),
        both_by_two_looks: (both && mating.ends == 2).into(),
        ..Default::default()
    };
    let month = with.calendar.months.piece(mating.at).map(MonthNo).filter(|_| known);
    let cell = month.map(|month| looked_at::Key {
        month,
        site: Site(mating.site),
        stage: mating.stage.into(),
        family: Family(mating.family),
    });
    counts.looked_at.add(cell, row);
    for fault in mating.faults {
        tally_fault(fault, mating.coverage, with, &mut counts.fault_records);
    }
}

/// The first fault that dirt cannot produce and the seconds up to it, of a skipped mating and of one with both ends seen:
/// one of them is nothing.
fn control(mating: &Mating, with: &Following) -> [(i64, i64); 2] {
    let none = (0, 0);
    let span = with.observed(mating).filter(|_| !mating.after_fault);
    let holds = |fault: &Fault| Definition::Control.holds(fault);
    let Some(found) = span.and_then(|span| Followed::of(mating, span, holds)) else {
        return [none; 2];
    };
    let found = (found.by_fault.into(), (found.span.to - found.span.from).max(0) / SECOND_US);
    match mating.coverage {
        Coverage::One | Coverage::None => [found, none],
        Coverage::Both => [none, found],
        _ => [none; 2],
    }
}

fn tally_fault(
    fault: &Fault,
    coverage: Coverage,
    with: &Following,
    table: &mut CountTable<FaultRecords>,
) {
    let quarter = with.calendar.quarters.piece(fault.opened).map(QuarterNo);
    let (site, level, how) = (Site(fault.site), fault.level, fault.how);
    let cell = quarter.filter(|_| coverage.is_known()).map(|quarter| fault_records::Key {
        quarter,
        site,
        level,
        coverage,
        how,
    });
    table.add(cell, fault_records::Row { faults: 1 });
}
