//! Counts for fault rates (5.4): follow-up by the week of the mating, faults that come back, times to
//! restore. Time in force by week is in `force_weeks`.

use super::all::Counts;
use super::rate_counts::MOST_FOLLOW_WEEKS;
use super::tally_mating::{Following, followed, is_of};
use crate::derive::calendar::period::Period;
use crate::derive::calendar::pieces::{DAY, SECOND};
use crate::derive::mating::describe::{Mating, Span};
use crate::derive::mating::fault::Fault;

/// What counting for fault rates needs beside the matings.
pub struct Rating<'a> {
    with: &'a Following<'a>,
    /// By piece of the calendar's quarters: whether it is looked back to.
    looked_back: Vec<bool>,
}

impl<'a> Rating<'a> {
    /// For one period.
    pub fn new(with: &'a Following<'a>, period: &Period) -> Self {
        let calendar = with.calendar;
        let pieces = 0..calendar.quarters.count();
        let looked_back = pieces.map(|piece| period.look_back.contains(&calendar.quarter(piece)));
        Rating { with, looked_back: looked_back.collect() }
    }

    fn at_risk(&self, mating: &Mating) -> Option<Span> {
        mating.at_risk.filter(|_| !self.with.is_dark(mating.stage))
    }
}

/// Counts one mating.
pub fn tally_rates(mating: &Mating, with: &Rating, counts: &mut Counts) {
    if mating.at < with.with.period_end {
        tally_follow_weeks(mating, with, counts);
        tally_recurrences(mating, with, counts);
    }
}

/// Follow-up of all matings of the period: matings of other quarters are off the table.
fn tally_follow_weeks(mating: &Mating, with: &Rating, counts: &mut Counts) {
    let following = with.with;
    let table = &mut counts.rates.follow_weeks;
    let week = following.calendar.weeks.piece(mating.at).filter(|_| following.in_period(mating.at));
    let (Some(week), Some(span)) = (week, with.at_risk(mating)) else {
        table.add(None, [1, 0, 0, 0, 0, 0, 0]);
        return;
    };
    let edges = following.edges();
    let mut bands = vec![[0i64; 7]; edges.len() - 1];
    bands[following.band(span.from - mating.at)][0] = 1;
    for level in 0..3 {
        let Some((span, event)) = followed(mating, span, level) else { continue };
        for (band, edges) in bands.iter_mut().zip(edges.windows(2)) {
            let from = span.from.max(mating.at + edges[0]);
            let to = span.to.min(mating.at + edges[1]);
            band[2 + 2 * level] = (to - from).max(0) / SECOND;
        }
        bands[following.band(span.to - mating.at)][1 + 2 * level] += i64::from(event);
    }
    // Beyond the limit the whole table is given up: the total must not depend on who met it when.
    let kept = table.len() <= MOST_FOLLOW_WEEKS;
    for (band, row) in (0..).zip(bands).filter(|(_, row)| *row != [0; 7]) {
        let cell = [week, mating.site, mating.stage.into(), mating.family, band];
        table.add(kept.then_some(cell), row);
    }
}

/// All linked faults of a mating of the look-back that was followed from its first moment on. Those
/// that the cover takes in later are left out: when they were made decides that, not their faults.
fn tally_recurrences(mating: &Mating, with: &Rating, counts: &mut Counts) {
    let following = with.with;
    let quarter = following.calendar.quarters.piece(mating.at);
    let quarter = quarter.filter(|quarter| with.looked_back.get(*quarter as usize) == Some(&true));
    let span = with.at_risk(mating).filter(|span| span.from == mating.at);
    let linked = mating.faults.iter().filter(|fault| is_of(fault, 0) && fault.at >= mating.at);
    let rates = &mut counts.rates;
    let (Some(quarter), Some(span)) = (quarter, span) else {
        rates.watched.add(None, [1]);
        rates.recurrences.add(None, [0, linked.count() as i64, 0]);
        return;
    };
    let last = following.edges().last().map_or(0, |horizon| horizon / DAY - 1).max(0);
    let day = |at: i64| ((at - mating.at) / DAY).min(last) as u32;
    let place = [quarter, mating.stage.into(), mating.family];
    let ended = day(span.to);
    let cell = |day: u32, with: u32| Some([place[0], place[1], place[2], day, with]);
    rates.watched.add(Some([place[0], place[1], place[2], ended]), [1]);
    let days: Vec<u32> =
        linked.filter(|fault| fault.at <= span.to).map(|fault| day(fault.at)).collect();
    for (number, own) in days.iter().enumerate() {
        rates.recurrences.add(cell(*own, ended), [0, 1, i64::from(number == 0)]);
        for other in &days {
            rates.recurrences.add(cell(*own, *other), [1, 0, 0]);
        }
    }
}

/// Counts how long one fault lasted.
pub fn tally_restore(fault: &Fault, stage: u8, family: u32, with: &Following, counts: &mut Counts) {
    let quarter = with.calendar.quarters.piece(fault.opened);
    let level = fault.level as u32;
    let place = quarter.map(|quarter| [quarter, fault.site, stage.into(), family, level]);
    let minutes = fault.restore_s.and_then(|seconds| u32::try_from(seconds / 60).ok());
    let timed = place.zip(minutes).filter(|_| with.in_period(fault.opened));
    let cell = timed.map(|([a, b, c, d, e], minutes)| [a, b, c, d, e, minutes]);
    counts.rates.restores.add(cell, [1]);
    let stated = i64::from(fault.downtime_min > 0);
    counts.rates.downtimes.add(place, [1, stated, fault.downtime_min]);
}
