//! Counts matings: coverage, follow-up by band and by day, time in force by quarter, faults.

use super::all::Counts;
use super::tally_rates::tally_restore;
use crate::derive::calendar::compared::is_compared;
use crate::derive::calendar::pieces::{Calendar, DAY, SECOND};
use crate::derive::face::event::NO_MATING;
use crate::derive::mating::describe::{Coverage, Mating, Span};
use crate::derive::mating::fault::{Fault, How};
use crate::records::Level;
use crate::settings::Rules;

/// What counting matings needs beside them.
pub struct Following<'a> {
    pub calendar: &'a Calendar,
    /// Edges of the bands since mating, microseconds: 0, the cuts, the horizon (F4).
    edges: Vec<i64>,
    /// By stage code: no light, no fault (F1).
    dark: Vec<bool>,
    /// First instant after the period: faults later are not read.
    pub period_end: i64,
}

impl<'a> Following<'a> {
    /// Bands of these rules; `dark` by stage code.
    pub fn new(rules: &Rules, dark: Vec<bool>, calendar: &'a Calendar, period_end: i64) -> Self {
        let days = std::iter::once(0).chain(rules.bands_days.iter().copied());
        let edges = days.chain([rules.horizon_days]).map(|day| i64::from(day) * DAY).collect();
        Following { calendar, edges, dark, period_end }
    }

    /// Whether a stage is dark.
    pub fn is_dark(&self, stage: u8) -> bool {
        self.dark.get(usize::from(stage)).copied().unwrap_or(false)
    }

    /// The band of a time since mating; the last one holds its upper edge.
    pub fn band(&self, since: i64) -> usize {
        let above = self.edges.partition_point(|edge| *edge <= since);
        above.saturating_sub(1).min(self.edges.len() - 2)
    }

    /// Edges of the bands, microseconds since mating.
    pub fn edges(&self) -> &[i64] {
        &self.edges
    }

    /// Whether an instant lies in the period's quarter.
    pub fn in_period(&self, at: i64) -> bool {
        let quarters = &self.calendar.quarters;
        quarters.piece(at) == quarters.piece(self.period_end - 1)
    }
}

/// Whether a fault is of a definition, by its place in `DEFINITIONS`.
pub fn is_of(fault: &Fault, definition: usize) -> bool {
    match definition {
        0 => fault.level >= Level::Probable,
        1 => fault.level == Level::Confirmed,
        2 => fault.level >= Level::Suspect,
        3 => true,
        _ => fault.control,
    }
}

/// Follow-up of one definition: to the first fault of it, or to the end of the span.
pub fn followed(mating: &Mating, span: Span, definition: usize) -> Option<(Span, bool)> {
    let first =
        mating.faults.iter().find(|fault| is_of(fault, definition) && fault.at >= mating.at);
    match first {
        Some(fault) if fault.at < span.from => None,
        Some(fault) if fault.at <= span.to => Some((Span { from: span.from, to: fault.at }, true)),
        _ => Some((span, false)),
    }
}

/// Counts one mating.
pub fn tally_mating(mating: &Mating, with: &Following, counts: &mut Counts) {
    if mating.at < with.period_end {
        tally_coverage(mating, with, counts);
        tally_follow_up(mating, with, counts);
        tally_since(mating, with, counts);
        tally_in_force(mating, with, counts);
    }
    for fault in mating.faults {
        tally_fault(fault, mating.stage, mating.family, with, counts);
    }
}

fn tally_coverage(mating: &Mating, with: &Following, counts: &mut Counts) {
    let calendar = with.calendar;
    let class = mating.coverage as u32;
    let cell = calendar
        .quarters
        .piece(mating.at)
        .map(|quarter| [quarter, mating.site, mating.stage.into(), mating.family, class]);
    tally_clusters(mating, with, counts);
    let row = [1, i64::from(mating.reseat), mating.unseen.into(), i64::from(mating.day_only)];
    counts.matings.add(cell, row);
}

/// The same mating under its site-week: of every week, and of the quarters that are compared by
/// stage and family.
fn tally_clusters(mating: &Mating, with: &Following, counts: &mut Counts) {
    let is = |class: Coverage| i64::from(mating.coverage == class);
    let known = 1 - is(Coverage::Unknown);
    let skipped = is(Coverage::One) + is(Coverage::None);
    let mut row = [0; 13];
    (row[0], row[1], row[2]) = (1, known, skipped);
    for (place, class) in Coverage::ALL.into_iter().enumerate() {
        row[3 + place] = is(class);
        row[8 + place] = is(class) * i64::from(mating.reseat);
    }
    let week = with.calendar.weeks.piece(mating.at);
    let covered = std::array::from_fn(|at| row[at]);
    counts.mating_weeks.add(week.map(|week| [week, mating.site]), covered);
    let quarters = &with.calendar.quarters;
    let reviewed = quarters.piece(with.period_end - 1).map(|piece| with.calendar.quarter(piece));
    let kept = |quarter: &u32| {
        reviewed.is_some_and(|reviewed| is_compared(with.calendar.quarter(*quarter), reviewed))
    };
    let quarter = quarters.piece(mating.at).filter(kept);
    let cell = |(quarter, week): (u32, u32)| {
        [quarter, week, mating.site, u32::from(mating.stage), mating.family]
    };
    counts.mating_clusters.add(quarter.zip(week).map(cell), row);
}

fn tally_follow_up(mating: &Mating, with: &Following, counts: &mut Counts) {
    let quarter = with.calendar.quarters.piece(mating.at);
    let (Some(quarter), Some(span), false) = (quarter, mating.at_risk, with.is_dark(mating.stage))
    else {
        let mut row = [0; 14];
        (row[0], row[1]) = (1, mating.unseen.into());
        counts.follow_up.add(None, row);
        return;
    };
    let mut bands = vec![[0i64; 14]; with.edges.len() - 1];
    let first = with.band(span.from - mating.at);
    (bands[first][0], bands[first][1]) = (1, mating.unseen.into());
    for definition in 0..5 {
        let Some((span, event)) = followed(mating, span, definition) else { continue };
        let (events, seconds) = (2 + 2 * definition, 3 + 2 * definition);
        for (band, edges) in with.edges.windows(2).enumerate() {
            let from = span.from.max(mating.at + edges[0]);
            let to = span.to.min(mating.at + edges[1]);
            bands[band][seconds] += (to - from).max(0) / SECOND;
        }
        if event {
            bands[with.band(span.to - mating.at)][events] += 1;
        }
    }
    // Costs count all linked faults, not only the first.
    let counted = |fault: &&Fault| is_of(fault, 0) && (span.from..=span.to).contains(&fault.at);
    for fault in mating.faults.iter().filter(counted) {
        let band = &mut bands[with.band(fault.at - mating.at)];
        band[12] = band[12].saturating_add(fault.cost);
        band[13] += 1;
    }
    let after_fault = u32::from(mating.after_fault);
    for (band, row) in (0..).zip(bands).filter(|(_, row)| *row != [0; 14]) {
        let (stage, coverage) = (mating.stage.into(), mating.coverage as u32);
        let cell = [
            quarter,
            mating.site,
            stage,
            mating.family,
            mating.criteria,
            after_fault,
            coverage,
            band,
        ];
        counts.follow_up.add(Some(cell), row);
    }
}

/// Entries, exits and part days of the linked follow-up: whole days between follow from them.
fn tally_since(mating: &Mating, with: &Following, counts: &mut Counts) {
    let quarter = with.calendar.quarters.piece(mating.at);
    let span = mating.at_risk.filter(|_| !with.is_dark(mating.stage));
    let (Some(quarter), Some(span)) = (quarter, span) else { return };
    let Some((span, event)) = followed(mating, span, 0) else { return };
    let cell = |day: i64| {
        Some([quarter, mating.after_fault.into(), mating.coverage as u32, day.max(0) as u32])
    };
    let (from, to) = (span.from - mating.at, span.to - mating.at);
    let last = with.edges.last().map_or(0, |horizon| horizon / DAY - 1).max(0);
    let (first_day, last_day) = ((from / DAY).min(last), (to / DAY).min(last));
    // Seconds that the entry day lacks at its start and the exit day at its end are taken off.
    let missing_before = from - first_day * DAY;
    let missing_after = (last_day + 1) * DAY - to;
    counts.since_mating.add(cell(first_day), [1, 0, -missing_before / SECOND, 0]);
    counts.since_mating.add(cell(last_day), [0, 1, -missing_after / SECOND, event.into()]);
}

fn tally_in_force(mating: &Mating, with: &Following, counts: &mut Counts) {
    let span = mating.observed.filter(|_| !with.is_dark(mating.stage));
    let Some(span) = span else {
        counts.in_force.add(None, [1, 0, 0, 0, 0, 0, 0, 0, 0]);
        return;
    };
    let quarters = &with.calendar.quarters;
    let first = quarters.piece(span.from).unwrap_or(0);
    let last = quarters.piece(span.to).unwrap_or_else(|| quarters.count().saturating_sub(1));
    for quarter in first..=last.max(first) {
        let mut row = [0; 9];
        row[0] = 1;
        let (starts, ends) = (quarters.start(quarter), quarters.start(quarter + 1));
        for definition in 0..4 {
            let Some((span, event)) = followed(mating, span, definition) else { continue };
            let time = (span.to.min(ends) - span.from.max(starts)).max(0) / SECOND;
            row[2 + 2 * definition] = time;
            row[1 + 2 * definition] = i64::from(event && (starts..ends).contains(&span.to));
        }
        let cell = [quarter, mating.site, mating.stage.into(), mating.family];
        counts.in_force.add(Some(cell), row);
    }
}

/// Counts one fault under the stage and family of its mating, or where it was found.
pub fn tally_fault(fault: &Fault, stage: u8, family: u32, with: &Following, counts: &mut Counts) {
    let how = match fault.how {
        How::ByRecord => 0,
        How::ByEndFace => 1,
        How::Lagged => 2,
        How::Ambiguous => 3,
        How::Unattached => 4,
    };
    let quarter = with.calendar.quarters.piece(fault.opened);
    let cell = quarter.map(|quarter| {
        [quarter, fault.site, stage.into(), family, fault.cause, fault.level as u32, how]
    });
    let restored = i64::from(fault.restore_s.is_some());
    let outside = i64::from(fault.mating != NO_MATING && !fault.inside);
    let row = [
        1,
        fault.tickets.into(),
        fault.cost,
        fault.downtime_min,
        restored,
        fault.restore_s.unwrap_or(0),
        outside,
    ];
    counts.faults.add(cell, row);
    tally_restore(fault, stage, family, with, counts);
}
