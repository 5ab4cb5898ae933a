//! Which visits a ticket can have prompted (V7).

use super::lists::Lists;
use super::ticket::{Ticket, WorkOrders};
use crate::calendar::{DAY_US, HOUR_US};
use crate::derive::face::event::NO_MATING;
use crate::derive::face::visit::Visit;
use crate::derive::scan::key::Key;
use crate::settings::Rules;

/// What tickets say of visits.
#[derive(Clone, Default)]
pub struct Prompting {
    /// Tickets by the end face that they name, and by the mating that they found.
    named_at: Lists<Key, u32>,
    attached_to: Lists<u64, u32>,
    /// Work orders of the tickets, by site.
    orders: WorkOrders,
    /// By ticket: from when to before when it was open, microseconds UTC.
    open: Vec<(i64, i64)>,
}

impl Prompting {
    /// Of tickets, each with the mating that it found ([`NO_MATING`] for none) and when it began: `opened` as written, or
    /// the mating of that day that it names.
    pub fn of(tickets: &[Ticket], found: &[(u64, i64)], rules: &Rules) -> Prompting {
        let numbered = || (0..).zip(tickets.iter().zip(found));
        let named = numbered().map(|(number, (ticket, _))| (ticket.end_face, number));
        let attached = numbered().map(|(number, (_, (mating, _)))| (*mating, number));
        Prompting {
            named_at: Lists::of(named.filter(|(key, _)| key.is_known()).collect()),
            attached_to: Lists::of(attached.filter(|(mating, _)| *mating != NO_MATING).collect()),
            orders: WorkOrders::of_tickets(tickets),
            open: numbered().map(|(_, (ticket, (_, from)))| open(ticket, *from, rules)).collect(),
        }
    }

    /// Whether a fault on the end face, on the mating before it or of its work order was behind the visit.
    pub fn prompted(&self, visit: &Visit, rules: &Rules) -> bool {
        if self.orders.has(visit.site, visit.work_order) {
            return true;
        }
        let named = self.named_at.get(&visit.key).into_iter().flatten();
        let attached = self.attached_to.get(&visit.last_mating).into_iter().flatten();
        let soon = visit.start.saturating_add(i64::from(rules.prompted_hours) * HOUR_US);
        named.chain(attached).any(|number| {
            let (from, before) = self.open[*number as usize];
            let was_open = from <= visit.start && visit.start < before;
            let opened_soon = visit.start <= from && from <= soon;
            was_open || opened_soon
        })
    }
}

/// A fault is open until before it was cleared, else until before so many days have passed.
fn open(ticket: &Ticket, from: i64, rules: &Rules) -> (i64, i64) {
    let open_for = i64::from(rules.open_fault_days) * DAY_US;
    (from, ticket.cleared.unwrap_or(from.saturating_add(open_for)))
}
