//! What tickets name, for those who read records: by the tickets themselves, or by what is told of tickets that are elsewhere.

use std::collections::BTreeMap;

use bytemuck::{Pod, Zeroable};
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::ticket::{Hits, Ticket, WorkOrders};
use crate::derive::scan::key::Key;
use crate::derive::share::filter::Filter;
use crate::derive::share::states::State;

/// A ticket that names an end face, as pass one needs it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NamedTicket {
    /// Its place in the list of tickets; where that is not at hand, its number.
    pub number: u64,
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

impl NamedRow {
    /// A ticket, if it names an identified end face.
    pub fn of(number: u64, ticket: &Ticket) -> Option<NamedRow> {
        let Ticket { end_face: key, opened, .. } = *ticket;
        key.is_known().then_some(NamedRow { key, opened, number })
    }

    /// Every ticket of the list that does.
    fn of_tickets(tickets: &[Ticket]) -> impl Iterator<Item = NamedRow> {
        (0..).zip(tickets).filter_map(|(number, ticket)| NamedRow::of(number, ticket))
    }
}

/// The last three matings of an end face up to the opening of a ticket that names it, the latest first. 48 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Pod, Zeroable)]
#[repr(C)]
pub struct Candidates {
    /// The end face.
    pub key: Key,
    /// The ticket: [`NamedTicket::number`].
    pub ticket: u64,
    /// Numbers of the matings, [`crate::derive::face::event::NO_MATING`] where there are fewer.
    pub matings: [u64; 3],
}

/// Tickets by the end face that they name.
fn by_face(rows: impl Iterator<Item = NamedRow>) -> FxHashMap<Key, Vec<NamedTicket>> {
    let mut tickets: FxHashMap<Key, Vec<NamedTicket>> = FxHashMap::default();
    for NamedRow { key, opened, number } in rows {
        tickets.entry(key).or_default().push(NamedTicket { number, opened });
    }
    tickets
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
    fn with_room(tickets: usize) -> Mentioned {
        let room = || Filter::with_room(tickets);
        Mentioned { faces: room(), records: room(), orders: room() }
    }

    fn add(&mut self, ticket: &Ticket) {
        if ticket.end_face.is_known() {
            self.faces.add(ticket.end_face);
        }
        if let Some(record) = ticket.mating {
            self.records.add(record);
        }
        if ticket.work_order != 0 {
            self.orders.add(order_key(ticket.site, ticket.work_order));
        }
    }

    fn merge(self, other: Mentioned) -> Mentioned {
        Mentioned {
            faces: self.faces.merge(other.faces),
            records: self.records.merge(other.records),
            orders: self.orders.merge(other.orders),
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
        let mut told = Told::default();
        tickets.iter().for_each(|ticket| told.add(ticket));
        told
    }

    /// Nothing yet, with room for so many tickets, those of all workers: others will not have them.
    pub fn to_others(tickets: usize) -> Told {
        Told { mentioned: Some(Mentioned::with_room(tickets)), ..Told::default() }
    }

    /// Adds a ticket.
    pub fn add(&mut self, ticket: &Ticket) {
        self.count += 1;
        self.by_day += u64::from(ticket.opened_day_end.is_some());
        self.add_span(ticket.source, (ticket.opened, ticket.opened));
        if let Some(mentioned) = &mut self.mentioned {
            mentioned.add(ticket);
        }
    }

    fn add_span(&mut self, source: u16, (first, last): (i64, i64)) {
        let span = self.opened.entry(source).or_insert((first, last));
        *span = (span.0.min(first), span.1.max(last));
    }

    /// When the first and the last of all were opened, microseconds UTC.
    pub fn span(&self) -> Option<(i64, i64)> {
        let spans = self.opened.values().copied();
        spans.reduce(|all, more| (all.0.min(more.0), all.1.max(more.1)))
    }
}

impl State for Told {
    fn merge(mut self, other: Told) -> Told {
        self.count += other.count;
        self.by_day += other.by_day;
        other.opened.into_iter().for_each(|(source, span)| self.add_span(source, span));
        let mentioned = match (self.mentioned.take(), other.mentioned) {
            (Some(own), Some(more)) => Some(own.merge(more)),
            (own, more) => own.or(more),
        };
        Told { mentioned, ..self }
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

impl Named {
    /// Every identified end face and every work order that a ticket of the list names.
    pub fn of_tickets(tickets: &[Ticket]) -> Named {
        Named {
            tickets: by_face(NamedRow::of_tickets(tickets)),
            orders: WorkOrders::of_tickets(tickets),
            span: Told::of(tickets).span(),
            mentioned: None,
        }
    }

    /// What is known of tickets that are not at hand.
    pub fn of_told(told: &mut Told) -> Named {
        Named { span: told.span(), mentioned: told.mentioned.take(), ..Named::default() }
    }

    /// Those that name some end faces, of tickets of a list that is not at hand.
    pub fn of_rows(&self, rows: &[NamedRow]) -> Named {
        // Rows come in any order; each ticket asks for itself.
        let tickets = by_face(rows.iter().copied());
        Named { tickets, span: self.span, ..Named::default() }
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
            Some(mentioned) => Hits::among(mentioned.records.clone()),
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
