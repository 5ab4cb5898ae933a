//! What the scan learns of each site: in which months it recorded what, since when it looks, and
//! which criteria were in force.

use std::collections::{BTreeMap, BTreeSet};

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use crate::calendar::LocalDay;

/// Rows of one site in one month.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MonthRows {
    /// Looks.
    pub looks: u64,
    /// Cleanings.
    pub cleanings: u64,
    /// Matings.
    pub matings: u64,
    /// Day of the first of them, since 0001-01-01.
    pub first_day: i32,
}

impl MonthRows {
    /// All of them.
    pub fn rows(&self) -> u64 {
        self.looks + self.cleanings + self.matings
    }
}

/// First and last criteria of a site on one day: time, rank, code. The rank is a hash of the word;
/// it settles which of several at one instant stands, since codes depend on who met a word first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct DayCriteria {
    first: (i64, u32, u32),
    last: (i64, u32, u32),
}

/// Facts of all sites; adding two gives those of both.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct SiteFacts {
    months: FxHashMap<(u32, i32), MonthRows>,
    /// Time of the first inspection row by source and site.
    first_look: BTreeMap<(u16, u32), i64>,
    criteria: FxHashMap<u32, BTreeMap<i32, DayCriteria>>,
    /// Earliest and latest time of any record.
    pub span: Option<(i64, i64)>,
    /// Sites that any record names.
    pub sites: BTreeSet<u32>,
}

impl SiteFacts {
    /// Notes any record's site and time.
    pub fn seen(&mut self, site: u32, at: i64) {
        self.sites.insert(site);
        let (first, last) = self.span.unwrap_or((at, at));
        self.span = Some((first.min(at), last.max(at)));
    }

    /// The rows of a site in the month of a day, to be added to.
    pub fn month(&mut self, site: u32, day: LocalDay) -> &mut MonthRows {
        let empty = MonthRows { first_day: day.number, ..MonthRows::default() };
        let rows = self.months.entry((site, day.month)).or_insert(empty);
        rows.first_day = rows.first_day.min(day.number);
        rows
    }

    /// Notes an inspection row; criteria as rank and code, 0 where not given.
    pub fn look(&mut self, source: u16, site: u32, at: i64, day: LocalDay, criteria: (u32, u32)) {
        self.month(site, day).looks += 1;
        let first = self.first_look.entry((source, site)).or_insert(at);
        *first = (*first).min(at);
        let (rank, code) = criteria;
        if code != 0 {
            let entry = (at, rank, code);
            self.criteria(site, day.number, DayCriteria { first: entry, last: entry });
        }
    }

    fn criteria(&mut self, site: u32, day: i32, new: DayCriteria) {
        let days = self.criteria.entry(site).or_default();
        let known = days.entry(day).or_insert(new);
        known.first = known.first.min(new.first);
        known.last = known.last.max(new.last);
    }

    /// Adds what another reader noted.
    pub fn merge(&mut self, other: SiteFacts) {
        for (key, rows) in other.months {
            let empty = MonthRows { first_day: rows.first_day, ..MonthRows::default() };
            let own = self.months.entry(key).or_insert(empty);
            own.first_day = own.first_day.min(rows.first_day);
            own.looks += rows.looks;
            own.cleanings += rows.cleanings;
            own.matings += rows.matings;
        }
        for (key, at) in other.first_look {
            let first = self.first_look.entry(key).or_insert(at);
            *first = (*first).min(at);
        }
        for (site, days) in other.criteria {
            for (day, criteria) in days {
                self.criteria(site, day, criteria);
            }
        }
        for at in other.span.into_iter().flat_map(|(first, last)| [first, last]) {
            let (first, last) = self.span.unwrap_or((at, at));
            self.span = Some((first.min(at), last.max(at)));
        }
        self.sites.extend(other.sites);
    }

    /// Whether the site has an inspection row in that month.
    pub fn looks_in(&self, site: u32, month: i32) -> bool {
        self.months.get(&(site, month)).is_some_and(|rows| rows.looks > 0)
    }

    /// Every site and month with its rows, ordered.
    pub fn by_month(&self) -> BTreeMap<(u32, i32), MonthRows> {
        self.months.iter().map(|(key, rows)| (*key, *rows)).collect()
    }

    /// Time of the first inspection row of every source and site.
    pub fn first_looks(&self) -> &BTreeMap<(u16, u32), i64> {
        &self.first_look
    }

    /// Whether the site used more than one rule set.
    pub fn changed_criteria(&self, site: u32) -> bool {
        let codes = |days: &BTreeMap<i32, DayCriteria>| {
            days.values().flat_map(|day| [day.first.2, day.last.2]).collect::<BTreeSet<u32>>().len()
        };
        self.criteria.get(&site).is_some_and(|days| codes(days) > 1)
    }

    /// Criteria of the site's last look up to an instant, 0 if none. Inside a day only the first
    /// and the last look are kept: between the two, the first one's criteria are taken.
    pub fn criteria_at(&self, site: u32, at: i64, day: i32) -> u32 {
        let Some(days) = self.criteria.get(&site) else { return 0 };
        let today = days.get(&day).and_then(|today| match at {
            at if today.last.0 <= at => Some(today.last.2),
            at if today.first.0 <= at => Some(today.first.2),
            _ => None,
        });
        today
            .or_else(|| days.range(..day).next_back().map(|(_, before)| before.last.2))
            .unwrap_or(0)
    }
}
