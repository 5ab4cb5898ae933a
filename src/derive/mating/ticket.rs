//! Trouble tickets as recorded, before they are faults: few enough to keep at hand.

use std::cmp::Ordering;

use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use super::price::Bill;
use crate::derive::scan::key::Key;
use crate::derive::share::filter::Filter;
use crate::records::Level;

/// One row of the faults table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ticket {
    /// Place of its source by name: with `record` and `identity` the order of tickets opened at one
    /// instant.
    pub source: u16,
    /// Its record id, empty where it has none.
    pub record: String,
    /// Hash of the record id, else of the content.
    pub identity: u64,
    /// Code of the site.
    pub site: u32,
    /// As written, microseconds UTC; the start of the day where only the day is known.
    pub opened: i64,
    /// End of the day it was opened, where only the day is known.
    pub opened_day_end: Option<i64>,
    /// When service was restored, microseconds UTC.
    pub cleared: Option<i64>,
    /// The mating record it names, within its site.
    pub mating: Option<Key>,
    /// The end face it names; [`Key::NONE`] where not identified.
    pub end_face: Key,
    /// Code of the cause, 0 if not given.
    pub cause: u32,
    /// Whether the cause is one that dirt cannot produce.
    pub control: bool,
    /// How surely it is linked to contamination (R6).
    pub level: Level,
    /// Code of the stage where it was found, 0 if not given.
    pub found_stage: u8,
    /// Hash of the work order, 0 for none.
    pub work_order: u64,
    /// What it says of its price.
    pub bill: Bill,
    /// Minutes that service was out, where stated.
    pub downtime_min: Option<i64>,
}

impl Ticket {
    /// Order of tickets: by opening, source, record.
    pub fn order(&self, other: &Ticket) -> Ordering {
        let own = (self.opened, self.source, &self.record, self.identity);
        own.cmp(&(other.opened, other.source, &other.record, other.identity))
    }
}

/// A ticket with a number that no other has, on its way to those whose list it will be in. Of two that are in no order
/// else the one of the lower number comes first: numbers rise as parts are read.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Numbered {
    /// Place of its part among those of tickets, and its own in it.
    pub number: u64,
    /// The ticket.
    pub ticket: Ticket,
}

/// Work orders of tickets, each with its site.
#[derive(Clone, Debug, Default)]
pub struct WorkOrders(FxHashSet<(u32, u64)>);

impl WorkOrders {
    /// Those of a list of tickets.
    pub fn of_tickets(tickets: &[Ticket]) -> WorkOrders {
        let mut orders = WorkOrders::default();
        tickets.iter().for_each(|ticket| orders.add(ticket));
        orders
    }

    /// Adds that of a ticket.
    pub fn add(&mut self, ticket: &Ticket) {
        if ticket.work_order != 0 {
            self.0.insert((ticket.site, ticket.work_order));
        }
    }

    /// Whether a ticket of the site has this work order; 0 is none.
    pub fn has(&self, site: u32, work_order: u64) -> bool {
        self.0.contains(&(site, work_order))
    }
}

/// How the matings that tickets name were found: the first with that record, and how many have it.
#[derive(Clone, Debug, Default)]
pub struct Hits {
    hits: FxHashMap<Key, Hit>,
    /// Where tickets are not at hand: what they name, and more.
    records: Option<Filter>,
}

/// A mating that was found by its record.
#[derive(Clone, Copy, Debug, Default, Serialize, Deserialize)]
pub struct Hit {
    /// The first one's number.
    pub mating: u64,
    at: i64,
    count: u32,
}

impl Hits {
    /// One empty entry for every mating that a ticket names.
    pub fn wanted(tickets: &[Ticket]) -> Hits {
        let wanted = tickets.iter().filter_map(|ticket| ticket.mating);
        Hits { hits: wanted.map(|key| (key, Hit::default())).collect(), records: None }
    }

    /// Every mating that was noted, by its record.
    pub fn noted(&self) -> impl Iterator<Item = (Key, Hit)> {
        self.hits.iter().filter(|(_, hit)| hit.count > 0).map(|(key, hit)| (*key, *hit))
    }

    /// Adds what another noted of one record.
    pub fn add(&mut self, (key, hit): (Key, Hit)) {
        let own = self.hits.entry(key).or_default();
        if own.count == 0 {
            *own = hit;
        } else {
            own.count += hit.count;
        }
    }

    /// No entry yet: tickets are not at hand, and these are what they name, and more.
    pub fn among(records: Filter) -> Hits {
        Hits { records: Some(records), ..Hits::default() }
    }

    /// Whether no ticket names a mating.
    pub fn is_empty(&self) -> bool {
        self.hits.is_empty() && self.records.is_none()
    }

    /// Notes a mating; true if a ticket names it.
    pub fn note(&mut self, key: Key, mating: u64, at: i64) -> bool {
        if self.records.as_ref().is_some_and(|records| records.may_hold(key)) {
            self.hits.entry(key).or_default();
        }
        let Some(hit) = self.hits.get_mut(&key) else { return false };
        if hit.count == 0 {
            (hit.mating, hit.at) = (mating, at);
        }
        hit.count += 1;
        true
    }

    /// Adds what another reader noted.
    pub fn merge(&mut self, other: Hits) {
        other.hits.into_iter().for_each(|hit| self.add(hit));
    }

    /// The mating with that record and its time, if there is exactly one; `Err` if several.
    pub fn find(&self, key: Key) -> Result<Option<(u64, i64)>, Ambiguous> {
        match self.hits.get(&key) {
            Some(hit) if hit.count == 1 => Ok(Some((hit.mating, hit.at))),
            Some(hit) if hit.count > 1 => Err(Ambiguous),
            _ => Ok(None),
        }
    }
}

/// A record that several matings of the site have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ambiguous;
