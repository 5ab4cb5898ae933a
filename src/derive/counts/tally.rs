//! Counts visits: first pass, cycles, cleanings.

use super::all::{Clusters, Counts};
use super::cluster_counts::MOST_CYCLES;
use super::tally_passages::tally_passage;
use crate::derive::calendar::compared::is_compared;
use crate::derive::calendar::pieces::Calendar;
use crate::derive::face::event::Event;
use crate::derive::face::visit::{Ending, Failing, Look, Visit};

/// Most work orders whose sums are kept in one period; above it the site-day is the cluster (5.1).
pub const MOST_WORK_ORDERS: usize = 1_000_000;
/// The same of the period and the two quarters that it is compared with, which are kept together.
pub const MOST_IN_ALL: usize = 3 * MOST_WORK_ORDERS;

/// Whether the work orders of the period, by its piece of the calendar's quarters, or those of all
/// quarters whose clusters are kept, are more than their limits.
pub fn has_too_many_work_orders(work_orders: &Clusters, period: Option<u32>) -> bool {
    let in_all = work_orders.len();
    // Most fleets stay below either limit: their cells need no counting.
    in_all > MOST_IN_ALL
        || in_all > MOST_WORK_ORDERS
            && work_orders.count(|cell| Some(cell[0]) == period) > MOST_WORK_ORDERS
}

/// What counting visits needs beside them.
pub struct Tallying<'a> {
    pub calendar: &'a Calendar,
    /// Piece of the calendar's quarters that is the period: clusters are kept for it and for the
    /// quarters that it is compared with.
    pub period: u32,
    /// First piece of the months looked back: clusters of cycles are kept from there to the period,
    /// and for the quarters that it is compared with.
    pub look_back: u32,
}

impl Tallying<'_> {
    /// The quarter of an instant, where it lies in the months looked back.
    pub fn look_back_piece(&self, at: i64) -> Option<u32> {
        let quarter = self.calendar.quarters.piece(at);
        quarter.filter(|quarter| (self.look_back..=self.period).contains(quarter))
    }

    fn keeps_clusters(&self, quarter: u32) -> bool {
        is_compared(self.calendar.quarter(quarter), self.calendar.quarter(self.period))
    }
}

/// Place of the routine visits in `VISIT_ROWS`.
const ROUTINE: u32 = 3;

/// Places in `VISIT_ROWS`.
fn row(visit: &Visit) -> u32 {
    match visit {
        visit if visit.face.is_sealed() => 0,
        visit if visit.prompted => 1,
        visit if visit.again => 2,
        _ => ROUTINE,
    }
}

/// Whether the visit counts for the headline of first pass (5.1).
pub fn is_routine(visit: &Visit) -> bool {
    row(visit) == ROUTINE
}

/// Place in `CAPPED`.
pub fn cap_code(visit: &Visit) -> u32 {
    match visit.capped {
        None => 0,
        Some(false) => 1,
        Some(true) => 2,
    }
}

/// Counts one visit.
pub fn tally_visit(visit: &Visit, with: &Tallying, counts: &mut Counts) {
    let quarter = with.calendar.quarters.piece(visit.start);
    let capped = cap_code(visit);
    let (site, stage, face) = (visit.site, u32::from(visit.stage), visit.face);
    let row = row(visit);
    let said = |what: fn(Look) -> bool| i64::from(visit.first.is_some_and(what));
    let clean = said(|look| look == Look::Pass);
    let measures = [
        1,
        i64::from(visit.first.is_some()),
        clean,
        said(|look| look == Look::Fail(Failing::Contamination)),
        said(|look| look == Look::Fail(Failing::Defect)),
        said(|look| look == Look::Fail(Failing::Unknown)),
        visit.cleanings.into(),
        i64::from(visit.ending == Ending::Rejected),
    ];
    let side = face.side.into();
    let cell = quarter.map(|quarter| [quarter, site, stage, face.family, side, capped, row]);
    counts.visits.add(cell, measures);
    let is_suppliers = row == ROUTINE && visit.first_recorded;
    let supplied = quarter.filter(|_| is_suppliers).map(|quarter| [quarter, face.supplier]);
    counts.suppliers.add(supplied, measures);
    if row == ROUTINE && visit.first.is_some() {
        let week = with.calendar.weeks.piece(visit.start);
        let cell = quarter.zip(week).map(|(quarter, week)| [quarter, week, site]);
        counts.first_looks.add(cell, [1, clean]);
    }
    counts.findings_missing += u64::from(visit.first == Some(Look::Fail(Failing::Unknown)));
    let clustered = quarter.filter(|quarter| with.keeps_clusters(*quarter));
    if let Some(quarter) = clustered.filter(|_| visit.first.is_some() && row == ROUTINE) {
        tally_clusters(visit, [quarter, capped], clean, with, counts);
    }
    tally_cleanings(visit, quarter, counts);
    tally_passage(visit, quarter, with, &mut counts.entry);
    if visit.first == Some(Look::Fail(Failing::Contamination)) && !face.is_sealed() {
        tally_cycles(visit, quarter, counts);
        tally_trials(visit, quarter, with, counts);
    }
}

/// The same first look under its work order (else its site-day) and under its site-day.
fn tally_clusters(
    visit: &Visit,
    [quarter, capped]: [u32; 2],
    clean: i64,
    with: &Tallying,
    counts: &mut Counts,
) {
    let face = visit.face;
    let day = with.calendar.days.piece(visit.start).unwrap_or(0);
    let cell = |high: u32, low: u32| {
        let side = face.side.into();
        let (stage, supplier) = (visit.stage.into(), face.supplier);
        [quarter, stage, face.family, side, visit.site, supplier, capped, high, low]
    };
    counts.site_days.add(Some(cell(0, day)), [1, clean]);
    let order = visit.work_order;
    // Work orders hash to 64 bits; a site-day has the high half 0.
    let (high, low) = match order {
        0 => (0, day),
        order => (((order >> 32) as u32).max(1), order as u32),
    };
    // Beyond the limit the whole table is given up: the total must not depend on who met it when.
    let kept = counts.work_orders.len() <= MOST_IN_ALL;
    counts.work_orders.add(kept.then(|| cell(high, low)), [1, clean]);
}

fn tally_cleanings(visit: &Visit, quarter: Option<u32>, counts: &mut Counts) {
    let (site, stage, family) = (visit.site, u32::from(visit.stage), visit.face.family);
    // No tool reaches a sealed lens: whatever was done to it says nothing of cleaning (Q2).
    let quarter = quarter.filter(|_| !visit.face.is_sealed());
    let cell = |method: u32| quarter.map(|quarter| [quarter, site, stage, family, method]);
    for cycle in visit.cycles.iter().filter(|cycle| !cycle.began_clean) {
        let was = |look: Look| i64::from(cycle.closed_by == look);
        let (passed, contaminated) = (was(Look::Pass), was(Look::Fail(Failing::Contamination)));
        let defective = was(Look::Fail(Failing::Defect));
        let cleanings = cycle.cleanings.into();
        counts
            .cleanings
            .add(cell(cycle.method), [1, passed, contaminated, defective, cleanings, 0, 0, 0]);
    }
    for cleaned in &visit.cleaned_while_clean {
        let seen = i64::from(cleaned.then.is_some());
        let soiled = i64::from(matches!(cleaned.then, Some(Look::Fail(_))));
        counts.cleanings.add(cell(cleaned.method), [0, 0, 0, 0, 0, 1, seen, soiled]);
    }
}

/// How a visit left the follow-up by cycle (5.2).
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
        (Ending::LeftFailing, Some(Look::Fail(Failing::Defect))) => (done, Exit::Rejected),
        (Ending::LeftFailing, _) => (done, Exit::Left),
        _ => (done, Exit::Censored),
    }
}

fn tally_cycles(visit: &Visit, quarter: Option<u32>, counts: &mut Counts) {
    let (site, stage, family) = (visit.site, u32::from(visit.stage), visit.face.family);
    let cell = |view: u32, method: u32, cycle: u32| {
        quarter.map(|quarter| [quarter, site, stage, family, view, method, cycle])
    };
    let marks = |exit: Exit| {
        let is = |other: Exit| i64::from(exit == other);
        [is(Exit::Passed), is(Exit::Rejected), is(Exit::Left), is(Exit::Censored), 0]
    };
    let (at, exit) = exit(visit);
    counts.cycles.add(cell(0, 0, at), marks(exit));
    for (number, cycle) in (1..).zip(&visit.cycles).take(at as usize) {
        counts.cycles.add(cell(0, 0, number), [0, 0, 0, 0, cycle.cleanings.into()]);
    }
    // By method: that of the first cycle, censored before the first switch.
    let Some(first) = visit.cycles.first() else { return };
    let same = visit.cycles.iter().take_while(|cycle| cycle.method == first.method).count() as u32;
    let (at, exit) = if same < at { (same, Exit::Censored) } else { (at, exit) };
    counts.cycles.add(cell(1, first.method, at), marks(exit));
}

/// Every cycle up to the one at which the visit left, with what may explain its outcome.
fn tally_trials(visit: &Visit, quarter: Option<u32>, with: &Tallying, counts: &mut Counts) {
    let (left_at, exit) = exit(visit);
    let kept = quarter.filter(|quarter| {
        (with.look_back..=with.period).contains(quarter) || with.keeps_clusters(*quarter)
    });
    let place = kept.zip(with.calendar.weeks.piece(visit.start));
    let (stage, family, zone) = (visit.stage.into(), visit.face.family, visit.first_zone.into());
    let method = visit.cycles.first().map(|first| first.method);
    let mut same = true;
    for (number, cycle) in (1..).zip(&visit.cycles).take(left_at as usize) {
        let cell = place.map(|(quarter, week)| {
            let number = u32::min(number, MOST_CYCLES);
            [quarter, week, visit.site, stage, family, zone, cycle.method, number]
        });
        same &= Some(cycle.method) == method;
        let by = |other: Exit| i64::from(exit == other && number == left_at);
        let [passed, rejected, left] = [Exit::Passed, Exit::Rejected, Exit::Left].map(by);
        let only = |count: i64| if same { count } else { 0 };
        counts.cycle_trials.add(
            cell,
            [
                1,
                passed,
                cycle.cleanings.into(),
                rejected,
                left,
                only(1),
                only(passed),
                only(rejected),
                only(left),
            ],
        );
    }
}

/// Counts a look without a readable picture.
pub fn tally_unreadable(look: &Event, with: &Tallying, counts: &mut Counts) {
    let month = with.calendar.months.piece(look.at);
    counts.unreadable.add(month.map(|month| [month, look.site, look.device]), [1]);
}
