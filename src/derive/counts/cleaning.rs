//! Cleaning (5.2): how visits that began contaminated left, by cycle, and what cycles and cleanings did.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::kept::Tallying;
use super::table::CountTable;
use crate::derive::face::visit::{Ending, Look, Visit};
use crate::records::{Finding, code_list};

code_list! {
    /// Which methods the cycles of a visit are followed under.
    View {
        /// Whatever the method.
        All = "all",
        /// That of the first cycle, up to the first switch.
        Method = "method",
    }
}

words! { View: "Whether cycles of all methods are followed, or those of the first alone."; }

declare_counts! {
    /// How visits that began contaminated left, by the number of cycles done (5.2).
    cycles: Cycles by {
        quarter: QuarterNo, week: WeekNo, site: Site, stage: Stage, family: Family, view: View, method: Method,
        cycle: CycleNo,
    } counting {
        /// Visits that passed at this cycle.
        passed: Count,
        /// Visits that ended rejected, or failing for a defect, after this cycle.
        rejected: Count,
        /// Visits that were left failing otherwise after this cycle.
        left: Count,
        /// Visits of which nothing more is known after this cycle.
        censored: Count,
        /// Cleanings made in this cycle.
        cleanings: Count,
    }

    /// Cycles by what may explain whether they passed, within site-weeks, and how their visits left (5.2's
    /// regression, and the resamples of the stopping rule).
    cycle_trials: CycleTrials by {
        quarter: QuarterNo, week: WeekNo, site: Site, stage: Stage, family: Family, zone: ZoneOf,
        method: Method, cycle: CycleNo,
    } counting {
        /// Cycles made.
        trials: Count,
        /// Cycles at which the visit passed.
        passed: Count,
        /// Cleanings made in them.
        cleanings: Count,
        /// Cycles after which the visit ended failing for a defect, or rejected for another reason than dirt.
        rejected: Count,
        /// Cycles after which the end face was given up contaminated: rejected, or left failing.
        left: Count,
        /// Cycles before which no other method was used in the visit.
        same: Count,
        /// Of these, at which the visit passed.
        same_passed: Count,
        /// Of these, after which the visit ended failing for a defect, or rejected for another reason than dirt.
        same_rejected: Count,
        /// Of these, after which the end face was given up contaminated.
        same_left: Count,
    }

    /// What cycles and cleanings did, by method (5.2).
    cleanings: Cleanings by {
        quarter: QuarterNo, week: WeekNo, site: Site, stage: Stage, family: Family, method: Method,
    } counting {
        /// Cycles that began with an end face not known to be clean.
        cycles: Count,
        /// Of these, closed by a passing look.
        passed: Count,
        /// Of these, closed by a look that failed for contamination.
        contaminated: Count,
        /// Of these, closed by a look that failed for a defect.
        defective: Count,
        /// Cleanings made in these cycles.
        cleanings: Count,
        /// Cleanings of an end face that had just passed.
        while_clean: Count,
        /// Of these, with a look afterwards.
        while_clean_seen: Count,
        /// Of these, whose look afterwards failed.
        soiled: Count,
    }

    /// Visits of end faces that can be cleaned, by whether they began with a look (5.2).
    beginnings: Beginnings by { quarter: QuarterNo, week: WeekNo, site: Site, stage: Stage } counting {
        /// Visits.
        visits: Count,
        /// Visits that began with a look.
        looks: Count,
    }
}

declare_part! {
    /// What cleaning is measured from.
    CleaningCounts {
        cycles: CountTable<Cycles>,
        cycle_trials: CountTable<CycleTrials>,
        cleanings: CountTable<Cleanings>,
        beginnings: CountTable<Beginnings>,
    }
}

/// Cycles from this one on are counted together: few reach it, and nothing reads them apart.
pub const MOST_CYCLES: u32 = 20;

/// Counts the cycles and cleanings of one visit.
pub(super) fn tally(visit: &Visit, with: &Tallying, counts: &mut CleaningCounts) {
    let week = with.calendar.weeks.piece(visit.start).map(WeekNo);
    let at = with.quarter(visit.start).zip(week);
    tally_cleanings(visit, at, counts);
    if visit.first == Some(Look::Fail(Finding::Contamination)) && !visit.face.is_recessed() {
        tally_cycles(visit, at, counts);
        tally_trials(visit, at, with, counts);
    }
}

/// Quarter and week in which a visit began.
type At = Option<(QuarterNo, WeekNo)>;

fn tally_cleanings(visit: &Visit, at: At, counts: &mut CleaningCounts) {
    // No tool reaches a recessed lens: whatever was done to it says nothing of cleaning (Q2).
    let at = at.filter(|_| !visit.face.is_recessed());
    let (site, stage) = (Site(visit.site), visit.stage.into());
    let cell = at.map(|(quarter, week)| beginnings::Key { quarter, week, site, stage });
    let looks = i64::from(visit.first.is_some());
    counts.beginnings.add(cell, beginnings::Row { visits: 1, looks });
    let cell = |method: u32| {
        at.map(|(quarter, week)| cleanings::Key {
            quarter,
            week,
            site: Site(visit.site),
            stage: visit.stage.into(),
            family: Family(visit.face.family),
            method: Method(method),
        })
    };
    for cycle in visit.cycles.iter().filter(|cycle| !cycle.began_clean) {
        let closed_by = |look: Look| i64::from(cycle.closed_by == look);
        let row = cleanings::Row {
            cycles: 1,
            passed: closed_by(Look::Pass),
            contaminated: closed_by(Look::Fail(Finding::Contamination)),
            defective: closed_by(Look::Fail(Finding::Defect)),
            cleanings: cycle.cleanings.into(),
            ..Default::default()
        };
        counts.cleanings.add(cell(cycle.method), row);
    }
    for cleaned in &visit.cleaned_while_clean {
        let row = cleanings::Row {
            while_clean: 1,
            while_clean_seen: cleaned.then.is_some().into(),
            soiled: matches!(cleaned.then, Some(Look::Fail(_))).into(),
            ..Default::default()
        };
        counts.cleanings.add(cell(cleaned.method), row);
    }
}

/// How a visit left the follow-up by cycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Exit {
    Passed,
    /// Rejected, or its last look failed for a defect.
    Rejected,
    /// Left failing: competing or censored, as the reader of the table decides.
    Left,
    Censored,
}

/// The cycle at which it left, and how.
fn exit(visit: &Visit) -> (u32, Exit) {
    let done = visit.cycles.len() as u32;
    if let Some(cycle) = visit.passed_at {
        return (cycle, Exit::Passed);
    }
    if let Some(before) = visit.pass_without_cycle {
        return (before, Exit::Censored);
    }
    match (visit.ending, visit.last) {
        (Ending::Rejected, _) => (done, Exit::Rejected),
        // Also where a cleaning that nobody looked at follows: it does not mend a defect.
        (Ending::LeftFailing | Ending::Unverified, Some(Look::Fail(Finding::Defect))) => {
            (done, Exit::Rejected)
        }
        (Ending::LeftFailing, _) => (done, Exit::Left),
        _ => (done, Exit::Censored),
    }
}

fn tally_cycles(visit: &Visit, at: At, counts: &mut CleaningCounts) {
    let cell = |view: View, method: u32, cycle: u32| {
        at.map(|(quarter, week)| cycles::Key {
            quarter,
            week,
            site: Site(visit.site),
            stage: visit.stage.into(),
            family: Family(visit.face.family),
            view,
            method: Method(method),
            cycle: CycleNo(cycle),
        })
    };
    let left_by = |exit: Exit| cycles::Row {
        passed: (exit == Exit::Passed).into(),
        rejected: (exit == Exit::Rejected).into(),
        left: (exit == Exit::Left).into(),
        censored: (exit == Exit::Censored).into(),
        cleanings: 0,
    };
    let (left_at, exit) = exit(visit);
    counts.cycles.add(cell(View::All, 0, left_at), left_by(exit));
    for (number, cycle) in (1..).zip(&visit.cycles).take(left_at as usize) {
        let row = cycles::Row { cleanings: cycle.cleanings.into(), ..Default::default() };
        counts.cycles.add(cell(View::All, 0, number), row);
    }
    // By method: that of the first cycle, censored before the first switch.
    let Some(first) = visit.cycles.first() else { return };
    let same = visit.cycles.iter().take_while(|cycle| cycle.method == first.method).count() as u32;
    let (left_at, exit) = if same < left_at { (same, Exit::Censored) } else { (left_at, exit) };
    counts.cycles.add(cell(View::Method, first.method, left_at), left_by(exit));
}

/// Every cycle up to the one at which the visit left, with what may explain its outcome.
fn tally_trials(visit: &Visit, at: At, with: &Tallying, counts: &mut CleaningCounts) {
    let (left_at, exit) = exit(visit);
    // Whoever rejects what is still contaminated decides that cleaning has gone on long enough: no cycle did that.
    let exit = match (exit, visit.last) {
        (Exit::Rejected, Some(Look::Fail(Finding::Contamination))) => Exit::Left,
        _ => exit,
    };
    let kept =
        at.filter(|(quarter, _)| with.is_looked_back(*quarter) || with.is_compared(*quarter));
    let method = visit.cycles.first().map(|first| first.method);
    let mut same = true;
    for (number, cycle) in (1..).zip(&visit.cycles).take(left_at as usize) {
        let cell = kept.map(|(quarter, week)| cycle_trials::Key {
            quarter,
            week,
            site: Site(visit.site),
            stage: visit.stage.into(),
            family: Family(visit.face.family),
            zone: ZoneOf::of_event(visit.first_zone),
            method: Method(cycle.method),
            cycle: CycleNo(u32::min(number, MOST_CYCLES)),
        });
        same &= Some(cycle.method) == method;
        let left_by = |other: Exit| i64::from(exit == other && number == left_at);
        let mut row = cycle_trials::Row {
            trials: 1,
            passed: left_by(Exit::Passed),
            cleanings: cycle.cleanings.into(),
            rejected: left_by(Exit::Rejected),
            left: left_by(Exit::Left),
            ..Default::default()
        };
        if same {
            row.same = row.trials;
            row.same_passed = row.passed;
            row.same_rejected = row.rejected;
            row.same_left = row.left;
        }
        counts.cycle_trials.add(cell, row);
    }
}
