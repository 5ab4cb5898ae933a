//! Local clocks and calendars to UTC.
//!
//! Asking the zone's table for every row would cost more than all the rest of a row; nearly all
//! days have one offset from their start to their end, so these are kept a day.

use std::cell::RefCell;

use chrono::{DateTime, NaiveDateTime, Offset, TimeZone};
use chrono_tz::Tz;
use rustc_hash::FxHashMap;

use super::lengths::{DAY_S, HOUR_S, SECOND_US};

/// A day is longer than this many seconds nowhere.
const SEARCHED: i64 = DAY_S;
/// All changes of clocks since 1970 fall on multiples of this many seconds.
const GRAIN: i64 = 900;
/// Most days kept, so that hostile dates cannot fill the memory.
const KEPT: usize = 20_000;

/// Rule for local times around a clock change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockChange {
    /// Take the earlier reading of a double hour; a missing time is quarantined.
    Earlier,
    /// Take the later reading of a double hour; a missing time is quarantined.
    Later,
    /// Quarantine both.
    Quarantine,
}

/// Why a local time has no place in UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ClockFault {
    /// Clocks were set forward over it.
    Missing,
    /// Clocks were set back and showed it twice.
    Double,
}

thread_local! {
    /// Offset of a whole day of a zone, where it has only one.
    static KNOWN: RefCell<FxHashMap<(Tz, i64), Option<i64>>> = RefCell::default();
}

/// A zone with its rule for clock changes.
#[derive(Debug)]
pub struct Zone {
    tz: Tz,
    rule: ClockChange,
    /// Offset of a whole day in seconds, where it has only one.
    offsets: FxHashMap<i64, Option<i64>>,
    last: (i64, Option<i64>),
}

impl Zone {
    /// Opens a zone.
    pub fn new(tz: Tz, rule: ClockChange) -> Self {
        Self { tz, rule, offsets: FxHashMap::default(), last: (i64::MIN, None) }
    }

    /// Microseconds since 1970 in UTC of a local day and the microseconds shown by its clock.
    ///
    /// # Errors
    /// By the rule, when the clock showed it twice or never.
    pub fn utc(&mut self, day: i64, micros: i64) -> Result<i64, ClockFault> {
        let local = day * DAY_S + micros.div_euclid(SECOND_US);
        let seconds = match self.day_offset(day) {
            Some(offset) => local - offset,
            None => match (self.offsets_at(local), self.rule) {
                ((None, _), _) => return Err(ClockFault::Missing),
                ((Some(only), None), _) => local - only,
                ((Some(earlier), Some(_)), ClockChange::Earlier) => local - earlier,
                ((Some(_), Some(later)), ClockChange::Later) => local - later,
                ((Some(_), Some(_)), ClockChange::Quarantine) => return Err(ClockFault::Double),
            },
        };
        Ok(seconds * SECOND_US + micros.rem_euclid(SECOND_US))
    }

    /// Microseconds since 1970 in UTC at which a local day begins: its first moment that exists.
    /// None for a day that the zone left out.
    pub fn day_start(&mut self, day: i64) -> Option<i64> {
        let midnight = day * DAY_S;
        if let Some(offset) = self.day_offset(day) {
            return Some((midnight - offset) * SECOND_US);
        }
        let moments = (midnight..midnight + SEARCHED).step_by(GRAIN as usize);
        let first = moments
            .map(|local| (local, self.offsets_at(local).0))
            .find_map(|(local, offset)| Some(local - offset?));
        first.map(|seconds| seconds * SECOND_US)
    }

    /// The offset of every moment of a day, if all have the same.
    fn day_offset(&mut self, day: i64) -> Option<i64> {
        if self.last.0 == day {
            return self.last.1;
        }
        let offset = match self.offsets.get(&day) {
            Some(known) => *known,
            None => {
                let offset = self.known_offset(day);
                if self.offsets.len() >= KEPT {
                    self.offsets.clear();
                }
                self.offsets.insert(day, offset);
                offset
            }
        };
        self.last = (day, offset);
        offset
    }

    /// What any reader of this thread has found out of the day: a fleet's files are of the same few months.
    fn known_offset(&self, day: i64) -> Option<i64> {
        KNOWN.with_borrow_mut(|known| {
            if known.len() >= KEPT {
                known.clear();
            }
            *known.entry((self.tz, day)).or_insert_with(|| self.only_offset(day))
        })
    }

    /// Asks the zone for every hour of a day and for its last second.
    fn only_offset(&self, day: i64) -> Option<i64> {
        let start = day * DAY_S;
        let (Some(first), None) = self.offsets_at(start) else {
            return None;
        };
        let mut moments = (1..24).map(|hour| start + hour * HOUR_S).chain([start + DAY_S - 1]);
        moments.all(|moment| self.offsets_at(moment) == (Some(first), None)).then_some(first)
    }

    /// Offsets in seconds that a local time may have: none, one, or the earlier reading's and the
    /// later one's.
    fn offsets_at(&self, local: i64) -> (Option<i64>, Option<i64>) {
        let Some(local) = naive(local) else {
            return (None, None);
        };
        let seconds = |offset: <Tz as TimeZone>::Offset| i64::from(offset.fix().local_minus_utc());
        match self.tz.offset_from_local_datetime(&local) {
            chrono::LocalResult::None => (None, None),
            chrono::LocalResult::Single(only) => (Some(seconds(only)), None),
            chrono::LocalResult::Ambiguous(a, b) => {
                let (a, b) = (seconds(a), seconds(b));
                // The earlier moment is the one with more seconds to take off.
                (Some(a.max(b)), Some(a.min(b)))
            }
        }
    }
}

fn naive(local: i64) -> Option<NaiveDateTime> {
    DateTime::from_timestamp(local, 0).map(|moment| moment.naive_utc())
}
