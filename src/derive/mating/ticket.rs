//! Trouble tickets as recorded, before they are faults: few enough to keep at hand.

use std::collections::BTreeMap;

use bytemuck::{Pod, Zeroable};
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use super::price::Bill;
use crate::derive::scan::key::Key;
use crate::derive::share::filter::Filter;
use crate::derive::share::states::State;
use crate::records::Level;

/// One row of the faults table.
#[derive(Clone, Debug, PartialEq)]
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

/// A ticket that names an end face, as pass one needs it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NamedTicket {
    /// Its place in the list of tickets.
    pub number: u32,
    /// When it was opened, microseconds UTC.
    pub opened: i64,
}

/// The same with its end face, on its way there. 32 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Pod, Zeroable)]
#[repr(C)]
pub struct NamedRow {
    /// The end face.
    pub key: Key,
    opened: i64,
    number: u64,
}

/// What all tickets together tell those who read records.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Told {
    /// How many there are.
    pub count: u64,
    /// How many are known to the day only.
    pub by_day: u64,
    /// By place of the source: when its first and its last were opened, microseconds UTC.
    pub opened: BTreeMap<u16, (i64, i64)>,
    /// Where the tickets themselves are not at hand: what they name.
    mentioned: Option<Mentioned>,
}

/// What tickets name, for those who have no tickets; each may say yes too often.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Mentioned {
    faces: Filter,
    records: Filter,
    orders: Filter,
}

impl Mentioned {
    fn of(tickets: &[Ticket]) -> Mentioned {
        let filter = |of: &dyn Fn(&Ticket) -> Option<Key>| {
            let count = tickets.iter().filter_map(of).count();
            Filter::of(tickets.iter().filter_map(of), count)
        };
        Mentioned {
            faces: filter(&|ticket| Some(ticket.end_face).filter(|key| key.is_known())),
            records: filter(&|ticket| ticket.mating),
            orders: filter(&|ticket| {
                (ticket.work_order != 0).then(|| order_key(ticket.site, ticket.work_order))
            }),
        }
    }
}

/// A work order of a site as a member of a filter.
fn order_key(site: u32, work_order: u64) -> Key {
    Key { high: work_order.wrapping_add(u64::from(site) << 40), low: work_order.rotate_left(32) }
}

impl Told {
    /// By tickets that stay at hand.
    pub fn of(tickets: &[Ticket]) -> Told {
        let mut told = Told { count: tickets.len() as u64, ..Told::default() };
        for ticket in tickets {
            told.by_day += u64::from(ticket.opened_day_end.is_some());
            let span = told.opened.entry(ticket.source).or_insert((ticket.opened, ticket.opened));
            *span = (span.0.min(ticket.opened), span.1.max(ticket.opened));
        }
        told
    }

    /// By tickets that others will not have.
    pub fn to_others(tickets: &[Ticket]) -> Told {
        Told { mentioned: Some(Mentioned::of(tickets)), ..Told::of(tickets) }
    }

    /// When the first and the last of all were opened, microseconds UTC.
    pub fn span(&self) -> Option<(i64, i64)> {
        let spans = self.opened.values().copied();
        spans.reduce(|all, more| (all.0.min(more.0), all.1.max(more.1)))
    }
}

impl State for Told {
    /// One worker looks at all tickets, so there is one.
    fn merge(self, _: Told) -> Told {
        self
    }
}

/// What tickets name of their sites: end faces, by which they look for their mating, and work orders.
#[derive(Clone, Debug, Default)]
pub struct Named {
    tickets: FxHashMap<Key, Vec<NamedTicket>>,
    orders: WorkOrders,
    /// When the first and the last ticket of all were opened, microseconds UTC.
    span: Option<(i64, i64)>,
    /// What is asked where tickets are not at hand.
    mentioned: Option<Mentioned>,
}

/// Work orders of tickets, each with its site.
#[derive(Clone, Debug, Default)]
pub struct WorkOrders(FxHashSet<(u32, u64)>);

impl WorkOrders {
    /// Those of a list of tickets.
    pub fn of_tickets(tickets: &[Ticket]) -> WorkOrders {
        let given = tickets.iter().filter(|ticket| ticket.work_order != 0);
        WorkOrders(given.map(|ticket| (ticket.site, ticket.work_order)).collect())
    }

    /// Whether a ticket of the site has this work order; 0 is none.
    pub fn has(&self, site: u32, work_order: u64) -> bool {
        self.0.contains(&(site, work_order))
    }
}

impl Named {
    /// Every identified end face and every work order that a ticket of the list names.
    pub fn of_tickets(tickets: &[Ticket]) -> Named {
        let orders = WorkOrders::of_tickets(tickets);
        let opened = || tickets.iter().map(|ticket| ticket.opened);
        let span = opened().min().zip(opened().max());
        let mut named = Named { orders, span, ..Named::default() };
        for (number, ticket) in tickets.iter().enumerate() {
            if ticket.end_face.is_known() {
                let entry = NamedTicket { number: number as u32, opened: ticket.opened };
                named.tickets.entry(ticket.end_face).or_default().push(entry);
            }
        }
        named
    }

    /// What is known of tickets that are not at hand.
    pub fn of_told(told: &mut Told) -> Named {
        Named { span: told.span(), mentioned: told.mentioned.take(), ..Named::default() }
    }

    /// Those that name some end faces, of tickets of a list that is not at hand.
    pub fn of_rows(&self, rows: &[NamedRow]) -> Named {
        let mut named = Named { span: self.span, ..Named::default() };
        for row in rows {
            let entry = NamedTicket { number: row.number as u32, opened: row.opened };
            named.tickets.entry(row.key).or_default().push(entry);
        }
        for tickets in named.tickets.values_mut() {
            tickets.sort_unstable_by_key(|ticket| ticket.number);
        }
        named
    }

    /// Every ticket that names an end face.
    pub fn rows(&self) -> impl Iterator<Item = NamedRow> {
        let rows = |(key, tickets): (&Key, &Vec<NamedTicket>)| {
            let (key, tickets) = (*key, tickets.clone());
            tickets.into_iter().map(move |ticket| NamedRow {
                key,
                opened: ticket.opened,
                number: ticket.number.into(),
            })
        };
        self.tickets.iter().flat_map(rows)
    }

    /// Whether a ticket names this end face; too often yes where tickets are not at hand.
    pub fn may_name(&self, key: Key) -> bool {
        match &self.mentioned {
            Some(mentioned) => mentioned.faces.may_hold(key),
            None => self.tickets.contains_key(&key),
        }
    }

    /// Matings by the record that tickets name, none noted yet.
    pub fn hits(&self, tickets: &[Ticket]) -> Hits {
        match &self.mentioned {
            Some(mentioned) => Hits { records: Some(mentioned.records.clone()), ..Hits::default() },
            None => Hits::wanted(tickets),
        }
    }

    /// Whether tickets were written at that time.
    pub fn covers(&self, at: i64) -> bool {
        self.span.is_some_and(|(first, last)| first <= at && at <= last)
    }

    /// The tickets that name this end face.
    pub fn of(&self, key: Key) -> Option<&[NamedTicket]> {
        self.tickets.get(&key).map(Vec::as_slice)
    }

    /// Whether a ticket of the site names this work order, too often yes where tickets are not at hand; 0 is none.
    pub fn may_have_order(&self, site: u32, work_order: u64) -> bool {
        match &self.mentioned {
            Some(mentioned) => {
                work_order != 0 && mentioned.orders.may_hold(order_key(site, work_order))
            }
            None => self.orders.has(site, work_order),
        }
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
    mating: u64,
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
