//! Coverage (5.3): matings by what was known of their ends, and the site-weeks that its intervals rest on.

use chrono::{Datelike, NaiveDate};

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::table::CountTable;
use crate::calendar::{Calendar, DAY_US};
use crate::derive::compared::is_compared;
use crate::derive::mating::describe::{Coverage, Mating};
use crate::derive::mating::follow_up::Following;
use crate::derive::scan::site_facts::SiteFacts;

declare_counts! {
    /// Matings by what was known of their ends (5.3).
    matings: Matings by {
        quarter: QuarterNo, site: Site, stage: Stage, family: Family, coverage: Coverage,
    } counting {
        /// Matings.
        matings: Count,
        /// Matings undone and made again within a day, no fault behind it.
        reseats: Count,
        /// Ends that nobody had seen.
        unseen_ends: Count,
        /// Matings known to the day only.
        day_only: Count,
    }

    /// Matings of every site-week (5.3 over time).
    mating_weeks: MatingWeeks by { week: WeekNo, site: Site } counting {
        /// Matings.
        matings: Count,
        /// Matings of known coverage.
        known: Count,
        /// Matings with one end or neither seen.
        skipped: Count,
        /// Matings with both ends seen and passing.
        both: Count,
        /// Matings with one end seen.
        one: Count,
        /// Matings with neither end seen.
        none: Count,
        /// Matings of which an end was last seen failing.
        despite_fail: Count,
        /// Matings of unknown coverage.
        unknown: Count,
        /// Those of these whose names stand apart from those of looks.
        apart: Count,
    }

    /// Matings by site-week, with the reseats of each class, of the period and of the quarters that it is
    /// compared with (5.3's intervals, 5.9).
    mating_clusters: MatingClusters by {
        quarter: QuarterNo, week: WeekNo, site: Site, stage: Stage, family: Family,
    } counting {
        /// Matings.
        matings: Count,
        /// Matings of known coverage.
        known: Count,
        /// Matings with one end or neither seen.
        skipped: Count,
        /// Matings with both ends seen and passing.
        both: Count,
        /// Matings with one end seen.
        one: Count,
        /// Matings with neither end seen.
        none: Count,
        /// Matings of which an end was last seen failing.
        despite_fail: Count,
        /// Matings of unknown coverage.
        unknown: Count,
        /// Those of these whose names stand apart from those of looks.
        apart: Count,
        /// Reseats of matings with both ends seen and passing.
        reseats_both: Count,
        /// Reseats of matings with one end seen.
        reseats_one: Count,
        /// Reseats of matings with neither end seen.
        reseats_none: Count,
        /// Reseats of matings of which an end was last seen failing.
        reseats_despite_fail: Count,
        /// Reseats of matings of unknown coverage.
        reseats_unknown: Count,
    }

    /// Ends that were mated, by the last of the stages before at which they were looked at since they were last mated;
    /// unknown where at none (5.8, 5.11).
    mated_ends: MatedEnds by {
        quarter: QuarterNo, site: Site, stage: Stage, from: FromStage,
    } counting {
        /// Ends of matings.
        ends: Count,
    }

    /// Rows by site and month: where nothing was looked at (5.3).
    site_months: SiteMonths by { month: MonthNo, site: Site } counting {
        /// Looks.
        looks: Count,
        /// Cleanings.
        cleanings: Count,
        /// Matings.
        matings: Count,
        /// Days of the month, in a site's first month from its first row on.
        days: Count,
    }
}

declare_part! {
    /// What coverage is measured from.
    CoverageCounts {
        matings: CountTable<Matings>,
        mating_weeks: CountTable<MatingWeeks>,
        mating_clusters: CountTable<MatingClusters>,
        mated_ends: CountTable<MatedEnds>,
        site_months: CountTable<SiteMonths>,
    }
}

/// Counts an end that is mated, by the last stage before at which it was looked at since it was last mated; 0 for none.
pub fn tally_mated_end(
    (site, stage): (u32, u8),
    looked_at: u8,
    quarter: Option<QuarterNo>,
    counts: &mut CoverageCounts,
) {
    let cell = |quarter| mated_ends::Key {
        quarter,
        site: Site(site),
        stage: stage.into(),
        from: looked_at.into(),
    };
    counts.mated_ends.add(quarter.map(cell), mated_ends::Row { ends: 1 });
}

impl mating_weeks::Row {
    /// Matings of a class.
    pub fn of_class(&self, class: Coverage) -> i64 {
        match class {
            Coverage::Both => self.both,
            Coverage::One => self.one,
            Coverage::None => self.none,
            Coverage::DespiteFail => self.despite_fail,
            Coverage::Unknown => self.unknown,
            Coverage::Apart => self.apart,
        }
    }
}

impl mating_clusters::Row {
    /// The same without the reseats.
    pub fn covered(&self) -> mating_weeks::Row {
        mating_weeks::Row {
            matings: self.matings,
            known: self.known,
            skipped: self.skipped,
            both: self.both,
            one: self.one,
            none: self.none,
            despite_fail: self.despite_fail,
            unknown: self.unknown,
            apart: self.apart,
        }
    }

    /// Matings of a class.
    pub fn of_class(&self, class: Coverage) -> i64 {
        self.covered().of_class(class)
    }

    /// Reseats of a class.
    pub fn reseats_of(&self, class: Coverage) -> i64 {
        match class {
            Coverage::Both => self.reseats_both,
            Coverage::One => self.reseats_one,
            Coverage::None => self.reseats_none,
            Coverage::DespiteFail => self.reseats_despite_fail,
            Coverage::Unknown | Coverage::Apart => self.reseats_unknown,
        }
    }

    /// One mating.
    fn of_mating(mating: &Mating) -> Self {
        let mut row = Self { matings: 1, known: 1, ..Default::default() };
        let (class, reseats) = match mating.coverage {
            Coverage::Both => (&mut row.both, &mut row.reseats_both),
            Coverage::One => (&mut row.one, &mut row.reseats_one),
            Coverage::None => (&mut row.none, &mut row.reseats_none),
            Coverage::DespiteFail => (&mut row.despite_fail, &mut row.reseats_despite_fail),
            Coverage::Unknown | Coverage::Apart => (&mut row.unknown, &mut row.reseats_unknown),
        };
        (*class, *reseats) = (1, mating.reseat.into());
        row.apart = i64::from(mating.coverage == Coverage::Apart);
        row.skipped = row.one + row.none;
        row.known -= row.unknown;
        row
    }
}

/// Counts the coverage of one mating, under its quarter and under its site-week.
pub(super) fn tally(mating: &Mating, with: &Following, counts: &mut CoverageCounts) {
    let calendar = with.calendar;
    let (site, stage, family) = (Site(mating.site), mating.stage.into(), Family(mating.family));
    let quarter = calendar.quarters.piece(mating.at).map(QuarterNo);
    let coverage = mating.coverage;
    let cell = quarter.map(|quarter| matings::Key { quarter, site, stage, family, coverage });
    let row = matings::Row {
        matings: 1,
        reseats: mating.reseat.into(),
        unseen_ends: mating.unseen.into(),
        day_only: mating.day_only.into(),
    };
    counts.matings.add(cell, row);
    let week = calendar.weeks.piece(mating.at).map(WeekNo);
    let row = mating_clusters::Row::of_mating(mating);
    let cell = week.map(|week| mating_weeks::Key { week, site });
    counts.mating_weeks.add(cell, row.covered());
    let reviewed = calendar.quarters.piece(with.period_end - 1).map(|at| calendar.quarter(at));
    let kept = quarter.filter(|quarter| {
        reviewed.is_some_and(|reviewed| is_compared(calendar.quarter(quarter.0), reviewed))
    });
    let cell = kept.zip(week).map(|(quarter, week)| mating_clusters::Key {
        quarter,
        week,
        site,
        stage,
        family,
    });
    counts.mating_clusters.add(cell, row);
}

/// Adds the rows of every site and month.
pub fn tally_months(facts: &SiteFacts, calendar: &Calendar, counts: &mut CoverageCounts) {
    let mut before = None;
    for ((site, month), rows) in facts.by_month() {
        let is_first = before.replace(site) != Some(site);
        let month = calendar.month_piece(month).map(MonthNo);
        let cell = month.map(|month| site_months::Key { month, site: Site(site) });
        let days = month.map_or(0, |month| {
            let (start, end) = (calendar.months.start(month.0), calendar.months.start(month.0 + 1));
            // A change of the clock makes one day longer or shorter.
            let length = (end - start + DAY_US / 2) / DAY_US;
            if is_first { length - days_before(rows.first_day) } else { length }
        });
        let row = site_months::Row {
            looks: rows.looks as i64,
            cleanings: rows.cleanings as i64,
            matings: rows.matings as i64,
            days,
        };
        counts.site_months.add(cell, row);
    }
}

/// Days of its month before a day, given since 0001-01-01.
fn days_before(day: i32) -> i64 {
    NaiveDate::from_num_days_from_ce_opt(day).map_or(0, |day| day.day0().into())
}
