//! The count tables of fault rates (5.4) beside follow-up and time in force: site-weeks, faults that
//! come back, times to restore.

use arrow::array::RecordBatch;
use rustc_hash::{FxHashMap, FxHashSet};

use super::arrow::to_arrow;
use super::kinds::LEVELS;
use super::table::{CountTable, Dimension};
use crate::derive::DeriveError;
use crate::derive::calendar::pieces::Calendar;
use crate::derive::scan::names::Glossary;

/// Most places (site, stage, family) of which weeks in force are kept; above it all are given up and
/// the site is the cluster. Each takes some 2 KiB a thread.
pub const MOST_FORCE_PLACES: usize = 25_000;
/// Most cells of follow-up by week; above it they are given up and the site is the cluster.
pub const MOST_FOLLOW_WEEKS: usize = 1_000_000;

/// 5.4b by quarter and week, for the quarters that are compared: matings in force at some time of the
/// week, first faults of three levels and time to them or to the end.
pub type ForceWeeks = CountTable<5, 7>;
/// 5.4a by the week of the mating, for all matings of the period, also those after a fault (which
/// 5.5's site-weeks leave out): matings, first faults of three levels and time to them.
pub type FollowWeeks = CountTable<5, 7>;
/// Matings of the look-back followed from their first moment on, by the day on which that ended.
pub type Watched = CountTable<4, 1>;
/// Their linked faults, all of them. By the day of a fault and the day on which the mating's
/// follow-up ended: faults, and those that were its first. By the days of two faults of one mating
/// (each with itself, and each two in both orders): pairs. A day is a whole number of days since
/// mating; the last one holds the horizon.
pub type Recurrences = CountTable<5, 3>;
/// Faults of the period by whole minutes from opening to clearing.
pub type Restores = CountTable<6, 1>;
/// Faults, those that say how long service was out, and for how many minutes.
pub type Downtimes = CountTable<5, 3>;

/// All of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RateCounts {
    pub force_weeks: ForceWeeks,
    pub follow_weeks: FollowWeeks,
    pub watched: Watched,
    pub recurrences: Recurrences,
    pub restores: Restores,
    pub downtimes: Downtimes,
}

const QUARTER: (&str, Dimension) = ("quarter", Dimension::Quarter);
const WEEK: (&str, Dimension) = ("week", Dimension::Week);
const SITE: (&str, Dimension) = ("site", Dimension::Site);
const STAGE: (&str, Dimension) = ("stage", Dimension::Stage);
const FAMILY: (&str, Dimension) = ("family", Dimension::Family);
const LEVEL: (&str, Dimension) = ("level", Dimension::Words(LEVELS));

const fn number(name: &'static str) -> (&'static str, Dimension) {
    (name, Dimension::Number)
}

/// What both tables of weeks count; the first is the table's own.
const fn weekly(first: &'static str) -> [&'static str; 7] {
    [first, "linked", "linked_s", "confirmed", "confirmed_s", "suspect", "suspect_s"]
}

impl RateCounts {
    /// Tables without counts.
    pub fn empty() -> RateCounts {
        RateCounts {
            force_weeks: CountTable::empty(
                "force_weeks",
                [QUARTER, WEEK, SITE, STAGE, FAMILY],
                weekly("present"),
            ),
            follow_weeks: CountTable::empty(
                "follow_weeks",
                [WEEK, SITE, STAGE, FAMILY, number("band")],
                weekly("started"),
            ),
            watched: CountTable::empty(
                "watched",
                [QUARTER, STAGE, FAMILY, number("day")],
                ["matings"],
            ),
            recurrences: CountTable::empty(
                "recurrences",
                [QUARTER, STAGE, FAMILY, number("day"), number("with_day")],
                ["pairs", "faults", "firsts"],
            ),
            restores: CountTable::empty(
                "restores",
                [QUARTER, SITE, STAGE, FAMILY, LEVEL, number("minutes")],
                ["faults"],
            ),
            downtimes: CountTable::empty(
                "downtimes",
                [QUARTER, SITE, STAGE, FAMILY, LEVEL],
                ["faults", "stated", "downtime_min"],
            ),
        }
    }

    /// Adds the counts of another share of the rows.
    pub fn merge(self, other: RateCounts) -> RateCounts {
        RateCounts {
            force_weeks: self.force_weeks.merge(other.force_weeks),
            follow_weeks: self.follow_weeks.merge(other.follow_weeks),
            watched: self.watched.merge(other.watched),
            recurrences: self.recurrences.merge(other.recurrences),
            restores: self.restores.merge(other.restores),
            downtimes: self.downtimes.merge(other.downtimes),
        }
    }

    /// Checks that cells plus off-table are the total, in every table.
    ///
    /// # Errors
    /// Names the first table that does not add up.
    pub fn check(&self) -> Result<(), DeriveError> {
        self.force_weeks.check()?;
        self.follow_weeks.check()?;
        self.watched.check()?;
        self.recurrences.check()?;
        self.restores.check()?;
        self.downtimes.check()
    }

    /// Gives up the tables that grew beyond their limits, whole: what is kept must not depend on
    /// which thread met what.
    pub fn give_up_beyond_limits(&mut self) {
        let cells = self.force_weeks.cells();
        let places: FxHashSet<[u32; 3]> =
            cells.iter().map(|([_, _, site, stage, family], _)| [*site, *stage, *family]).collect();
        if places.len() > MOST_FORCE_PLACES {
            self.force_weeks.clear();
        }
        if self.follow_weeks.len() > MOST_FOLLOW_WEEKS {
            self.follow_weeks.clear();
        }
    }

    /// Adds the tables as Arrow, by name.
    ///
    /// # Errors
    /// Only where Arrow refuses the arrays.
    pub fn to_arrow(
        &self,
        glossary: &Glossary,
        calendar: &Calendar,
        batches: &mut FxHashMap<&'static str, RecordBatch>,
    ) -> Result<(), DeriveError> {
        macro_rules! put {
            ($($table:ident),+) => {
                $(batches.insert(self.$table.name, to_arrow(&self.$table, glossary, calendar)?);)+
            };
        }
        put!(force_weeks, follow_weeks, watched, recurrences, restores, downtimes);
        Ok(())
    }
}
