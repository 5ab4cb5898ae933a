//! Fault rates (5.4) apart from follow-up by band: time in force by quarter and week, follow-up by the week of the
//! mating, faults that come back. Time in force by week is gathered in `weeks_in_force`.

use rustc_hash::FxHashSet;

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::followed::by_definition;
use super::table::CountTable;
use crate::calendar::{DAY_US, SECOND_US};
use crate::derive::mating::describe::Mating;
use crate::derive::mating::follow_up::{Definition, Followed, Following};

declare_counts! {
    /// Time in force by calendar quarter (5.4b).
    in_force: InForce by { quarter: QuarterNo, site: Site, stage: Stage, family: Family } counting {
        /// Matings in force at some time of the quarter.
        matings: Count,
        /// First faults that are confirmed or probable.
        linked: Count,
        /// Time in force up to them.
        linked_s: Seconds,
        /// First faults that are confirmed.
        confirmed: Count,
        /// Time in force up to them.
        confirmed_s: Seconds,
        /// First faults that are confirmed, probable or suspect.
        suspect: Count,
        /// Time in force up to them.
        suspect_s: Seconds,
        /// First faults of any cause.
        any: Count,
        /// Time in force up to them.
        any_s: Seconds,
    }

    /// Time in force by quarter and week, of the quarters that are compared (5.4b).
    force_weeks: ForceWeeks by {
        quarter: QuarterNo, week: WeekNo, site: Site, stage: Stage, family: Family,
    } counting {
        /// Matings in force at some time of the week.
        present: Count,
        /// First faults that are confirmed or probable.
        linked: Count,
        /// Time in force up to them.
        linked_s: Seconds,
        /// First faults that are confirmed.
        confirmed: Count,
        /// Time in force up to them.
        confirmed_s: Seconds,
        /// First faults that are confirmed, probable or suspect.
        suspect: Count,
        /// Time in force up to them.
        suspect_s: Seconds,
    }

    /// Follow-up by the week of the mating, for all matings of the period, also those after a fault, which
    /// 5.5's site-weeks leave out (5.4a).
    follow_weeks: FollowWeeks by {
        week: WeekNo, site: Site, stage: Stage, family: Family, band: Band,
    } counting {
        /// Matings, in the band in which their follow-up begins.
        started: Count,
        /// First faults that are confirmed or probable.
        linked: Count,
        /// Time to them or to the end of follow-up.
        linked_s: Seconds,
        /// First faults that are confirmed.
        confirmed: Count,
        /// Time to them or to the end of follow-up.
        confirmed_s: Seconds,
        /// First faults that are confirmed, probable or suspect.
        suspect: Count,
        /// Time to them or to the end of follow-up.
        suspect_s: Seconds,
    }

    /// Matings of the look-back followed from their first moment on, by the day on which that ended.
    watched: Watched by { quarter: QuarterNo, stage: Stage, family: Family, day: Day } counting {
        /// Matings.
        matings: Count,
    }

    /// Linked faults of these matings, all of them. By the day of a fault and the day on which the
    /// follow-up of its mating ended: faults, and those that were its first. By the days of two faults of
    /// one mating (each with itself, and each two in both orders): pairs. A day is a whole number of days
    /// since mating; the last one holds the horizon.
    recurrences: Recurrences by {
        quarter: QuarterNo, stage: Stage, family: Family, day: Day, with_day: WithDay,
    } counting {
        /// Pairs of faults of one mating.
        pairs: CountSquared,
        /// Faults.
        faults: Count,
        /// Faults that were the first of their mating.
        firsts: Count,
    }

    /// Faults of the period by whole minutes from opening to clearing; of those that were not cleared by its end, to there,
    /// where their source says of others when they were.
    restores: Restores by {
        quarter: QuarterNo, site: Site, stage: Stage, family: Family, level: Level, minutes: Minutes,
    } counting {
        /// Faults that were cleared then.
        faults: Count,
        /// Faults that were still open then.
        open: Count,
    }

    /// How long service was out.
    downtimes: Downtimes by {
        quarter: QuarterNo, site: Site, stage: Stage, family: Family, level: Level,
    } counting {
        /// Faults.
        faults: Count,
        /// Faults that say how long service was out.
        stated: Count,
        /// Time that service was out, as stated.
        downtime_min: Minutes,
    }
}

declare_part! {
    /// What fault rates are measured from.
    RateCounts {
        in_force: CountTable<InForce>,
        force_weeks: CountTable<ForceWeeks>,
        follow_weeks: CountTable<FollowWeeks>,
        watched: CountTable<Watched>,
        recurrences: CountTable<Recurrences>,
        restores: CountTable<Restores>,
        downtimes: CountTable<Downtimes>,
    }
}

by_definition! { in_force::Row {
    Linked: linked, linked_s;
    Confirmed: confirmed, confirmed_s;
    Suspect: suspect, suspect_s;
    Any: any, any_s;
} }

by_definition! { force_weeks::Row {
    Linked: linked, linked_s;
    Confirmed: confirmed, confirmed_s;
    Suspect: suspect, suspect_s;
} }

by_definition! { follow_weeks::Row {
    Linked: linked, linked_s;
    Confirmed: confirmed, confirmed_s;
    Suspect: suspect, suspect_s;
} }

/// Most places (site, stage, family) of which weeks in force are kept; above it all are given up and
/// the site is the cluster. Each takes some 2 KiB a thread.
pub const MOST_FORCE_PLACES: usize = 25_000;
/// Most cells of follow-up by week; above it they are given up and the site is the cluster.
pub const MOST_FOLLOW_WEEKS: usize = 1_000_000;

impl RateCounts {
    /// Gives up the weeks in force if they are of more places than the limit, all of them: what is kept must not
    /// depend on which thread met what.
    pub fn give_up_beyond_places(&mut self) {
        let cells = self.force_weeks.cells();
        let places: FxHashSet<(Site, Stage, Family)> =
            cells.iter().map(|(cell, _)| (cell.site, cell.stage, cell.family)).collect();
        if places.len() > MOST_FORCE_PLACES {
            self.force_weeks.clear();
        }
    }
}

/// Counts one mating.
pub(super) fn tally(mating: &Mating, with: &Following, counts: &mut RateCounts) {
    tally_in_force(mating, with, &mut counts.in_force);
    tally_follow_weeks(mating, with, &mut counts.follow_weeks);
    tally_recurrences(mating, with, counts);
}

fn tally_in_force(mating: &Mating, with: &Following, table: &mut CountTable<InForce>) {
    let present = in_force::Row { matings: 1, ..Default::default() };
    let Some(span) = with.observed(mating) else {
        table.add(None, present);
        return;
    };
    let quarters = &with.calendar.quarters;
    let first = quarters.piece(span.from).unwrap_or(0);
    let last = quarters.piece(span.to).unwrap_or_else(|| quarters.count().saturating_sub(1));
    let followed = Followed::by_definition(mating, span);
    for quarter in first..=last.max(first) {
        let mut row = present;
        let (starts, ends) = (quarters.start(quarter), quarters.start(quarter + 1));
        for (definition, followed) in Definition::ALL.iter().zip(&followed) {
            let Some((faults, seconds)) = row.first_faults_mut(*definition) else { continue };
            let Some(Followed { span, by_fault }) = *followed else { continue };
            *seconds = (span.to.min(ends) - span.from.max(starts)).max(0) / SECOND_US;
            *faults = i64::from(by_fault && (starts..ends).contains(&span.to));
        }
        let cell = in_force::Key {
            quarter: QuarterNo(quarter),
            site: Site(mating.site),
            stage: mating.stage.into(),
            family: Family(mating.family),
        };
        table.add(Some(cell), row);
    }
}

/// Follow-up of all matings of the period: matings of other quarters are off the table.
fn tally_follow_weeks(mating: &Mating, with: &Following, table: &mut CountTable<FollowWeeks>) {
    let started = follow_weeks::Row { started: 1, ..Default::default() };
    let week = with.calendar.weeks.piece(mating.at).filter(|_| with.in_period(mating.at));
    let (Some(week), Some(span)) = (week, with.at_risk(mating)) else {
        table.add(None, started);
        return;
    };
    let (followed, first) =
        (Followed::by_definition(mating, span), with.bands.band(span.from - mating.at));
    for band in 0..with.bands.count() {
        let mut row = if band == first { started } else { follow_weeks::Row::default() };
        for (definition, followed) in Definition::ALL.iter().zip(&followed) {
            let Some(followed) = followed else { continue };
            if let Some((faults, seconds)) = row.first_faults_mut(*definition) {
                (*faults, *seconds) = followed.in_band(&with.bands, band, mating.at);
            }
        }
        let cell = follow_weeks::Key {
            week: WeekNo(week),
            site: Site(mating.site),
            stage: mating.stage.into(),
            family: Family(mating.family),
            band: Band(band as u32),
        };
        table.add(Some(cell), row);
    }
}

/// All linked faults of a mating of the look-back that was followed from its first moment on. Matings
/// made before their site's faults were known are left out, whatever faults they had later.
fn tally_recurrences(mating: &Mating, with: &Following, counts: &mut RateCounts) {
    let quarter = with.looked_back(mating.at).map(QuarterNo);
    let span = with.at_risk(mating).filter(|span| span.from == mating.at);
    let since = mating.faults.iter().filter(|fault| fault.at >= mating.at);
    let linked = since.filter(|fault| Definition::Linked.holds(fault));
    let watched = watched::Row { matings: 1 };
    let (Some(quarter), Some(span)) = (quarter, span) else {
        counts.watched.add(None, watched);
        let faults = linked.count() as i64;
        counts.recurrences.add(None, recurrences::Row { faults, ..Default::default() });
        return;
    };
    let last = with.bands.last_day();
    let day = |at: i64| ((at - mating.at) / DAY_US).min(last) as u32;
    let (stage, family) = (mating.stage.into(), Family(mating.family));
    let ended = day(span.to);
    let cell = watched::Key { quarter, stage, family, day: Day(ended) };
    counts.watched.add(Some(cell), watched);
    let cell = |day: u32, with: u32| {
        let (day, with_day) = (Day(day), WithDay(with));
        Some(recurrences::Key { quarter, stage, family, day, with_day })
    };
    let days: Vec<u32> =
        linked.filter(|fault| fault.at <= span.to).map(|fault| day(fault.at)).collect();
    for (number, of) in days.iter().enumerate() {
        let firsts = i64::from(number == 0);
        let row = recurrences::Row { faults: 1, firsts, ..Default::default() };
        counts.recurrences.add(cell(*of, ended), row);
        for other in &days {
            let row = recurrences::Row { pairs: 1, ..Default::default() };
            counts.recurrences.add(cell(*of, *other), row);
        }
    }
}
