//! Visits and matings by month and place, for what an action may have moved (5.12): counted only where the settings name
//! an action.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::first_pass::VisitRow;
use super::kept::Tallying;
use super::table::CountTable;
use crate::calendar::SECOND_US;
use crate::derive::face::visit::{Look, Visit};
use crate::derive::mating::describe::{Coverage, Mating};
use crate::derive::mating::follow_up::{Definition, Followed, Following};
use crate::records::Finding;

declare_counts! {
    /// Routine visits by the month in which they began (5.12).
    visit_months: VisitMonths by { month: MonthNo, site: Site, stage: Stage, family: Family } counting {
        /// Routine visits that began with a look.
        looks: Count,
        /// First looks that passed.
        clean: Count,
        /// First cleaning cycles of visits of any kind that began contaminated and can be cleaned.
        cycles: Count,
        /// Of these, closed by a passing look.
        passed: Count,
    }

    /// Matings by the month in which they were made (5.12).
    mating_months: MatingMonths by { month: MonthNo, site: Site, stage: Stage, family: Family } counting {
        /// Matings of known coverage.
        known: Count,
        /// Matings with one end or neither seen.
        skipped: Count,
        /// Matings followed from their first moment on.
        followed: Count,
        /// First faults of these that are confirmed or probable.
        linked: Count,
        /// Time to them or to the end of follow-up.
        linked_s: Seconds,
    }
}

declare_part! {
    /// What actions are measured from.
    MonthCounts {
        visit_months: CountTable<VisitMonths>,
        mating_months: CountTable<MatingMonths>,
    }
}

/// Counts the first look and the first cycle of one visit.
pub(super) fn tally_visit(visit: &Visit, with: &Tallying, counts: &mut MonthCounts) {
    if !with.by_month {
        return;
    }
    let routine = VisitRow::of_visit(visit) == VisitRow::Routine;
    let began_dirty = visit.first == Some(Look::Fail(Finding::Contamination));
    let cycle = visit.cycles.first().filter(|_| began_dirty && !visit.face.is_recessed());
    let row = visit_months::Row {
        looks: (routine && visit.first.is_some()).into(),
        clean: (routine && visit.first == Some(Look::Pass)).into(),
        cycles: cycle.is_some().into(),
        passed: cycle.is_some_and(|cycle| cycle.closed_by == Look::Pass).into(),
    };
    let month = with.calendar.months.piece(visit.start).map(MonthNo);
    let cell = month.map(|month| visit_months::Key {
        month,
        site: Site(visit.site),
        stage: visit.stage.into(),
        family: Family(visit.face.family),
    });
    counts.visit_months.add(cell, row);
}

/// Counts the coverage of one mating, and its follow-up to the horizon.
pub(super) fn tally_mating(mating: &Mating, with: &Following, counts: &mut MonthCounts) {
    if !with.by_month {
        return;
    }
    let span = mating.at_risk.filter(|span| span.from == mating.at);
    let linked = |fault: &_| Definition::Linked.holds(fault);
    let followed = span.and_then(|span| Followed::of(mating, span, linked));
    let seconds = |followed: &Followed| (followed.span.to - followed.span.from) / SECOND_US;
    let row = mating_months::Row {
        known: mating.coverage.is_known().into(),
        skipped: matches!(mating.coverage, Coverage::One | Coverage::None).into(),
        followed: followed.is_some().into(),
        linked: followed.as_ref().is_some_and(|followed| followed.by_fault).into(),
        linked_s: followed.as_ref().map_or(0, seconds),
    };
    let month = with.calendar.months.piece(mating.at).map(MonthNo);
    let cell = month.map(|month| mating_months::Key {
        month,
        site: Site(mating.site),
        stage: mating.stage.into(),
        family: Family(mating.family),
    });
    counts.mating_months.add(cell, row);
}
