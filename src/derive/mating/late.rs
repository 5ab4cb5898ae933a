//! What shows that tickets come late: opened after the repair, when another mating is in force already (F2, 5.10).
//!
//! Evidence is only what an early failure cannot make, since dirt too brings faults on the first day: tickets that name
//! a mating which had been replaced; tickets cleared before the mating they attach to; and more tickets after
//! replacements that no earlier ticket explains than after those that one does, of tickets that no mating follows
//! (whoever repairs an early failure joins again). How late they come is read from tickets that name their mating or
//! whose work order is that of the replacement.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use rustc_hash::FxHashSet;
use serde::{Deserialize, Serialize};

use super::fault::{Clues, InForce, standing};
use super::ticket::Ticket;
use super::window::{Basis, MOST_HOURS, USUAL_HOURS, Window, Windows};
use crate::calendar::{DAY_US, HOUR_US};
use crate::derive::share::states::State;
use crate::records::code_list;
use crate::settings::Rules;
use crate::stats::binomial::binomial_at_most;

/// Tickets later than this after a replacement tell nothing of it, days; those beyond the longest window and up to here
/// say how many come by chance.
const LATEST_DAYS: i64 = 30;
/// The same in hours.
pub const LATEST_HOURS: u32 = (LATEST_DAYS * (DAY_US / HOUR_US)) as u32;
/// Fewest tickets that show a window longer than the usual one.
const LEAST_TICKETS: i64 = 5;
/// Most chance that as few tickets follow explained replacements, were they followed as often as the others.
const MOST_CHANCE: f64 = 0.001;
/// The same where tickets within the usual window are asked for: they move no window, and only say that a shorter one
/// would be wrong.
const MOST_CHANCE_WITHIN: f64 = 0.5;
/// Standard errors by which tickets must exceed what comes by chance.
const ERRORS: f64 = 3.0;
/// Windows are told to this many hours.
const STEP_HOURS: u32 = 12;
/// Share of the late tickets that a window holds.
const HELD: f64 = 0.95;

code_list! {
    /// What a ticket shows of how late it came.
    #[derive(serde::Serialize, serde::Deserialize)]
    Sign {
        /// It names a mating that had been replaced before it was opened.
        NamesReplaced = "names-replaced",
        /// It was cleared before the mating it attaches to was made.
        ClearedBefore = "cleared-before",
        /// Its work order is that of the mating which replaced another: that tells the delay, and proves nothing.
        WorkOrder = "work-order",
        /// One of these, each ticket once.
        Delay = "delay",
        /// No mating follows it, and no earlier ticket explains the replacement before it.
        Unexplained = "unexplained",
        /// No mating follows it, and an earlier ticket explains the replacement before it.
        Explained = "explained",
    }
}

/// Tickets by what they show, and the replacements that they may tell of.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signs {
    /// By code of the source, sign and whole hours since the replacement, [`MOST_HOURS`] for more.
    pub tickets: BTreeMap<(u32, Sign, u32), i64>,
    /// By code of the source: its tickets.
    pub sources: BTreeMap<u32, i64>,
    /// By code of the site: ends of matings replaced, and those of them that an earlier ticket explains.
    pub replaced: BTreeMap<u32, [i64; 2]>,
    /// Codes of the sources with those of the sites that their tickets are of.
    sites: BTreeSet<(u32, u32)>,
    /// By code of the source: ends of matings replaced at its sites that no earlier ticket explains.
    unexplained: BTreeMap<u32, i64>,
}

impl State for Signs {
    /// Of tickets that do not hang together, before [`Signs::complete`].
    fn merge(mut self, other: Signs) -> Signs {
        for (sign, tickets) in other.tickets {
            *self.tickets.entry(sign).or_default() += tickets;
        }
        for (source, tickets) in other.sources {
            *self.sources.entry(source).or_default() += tickets;
        }
        for (site, ends) in other.replaced {
            let own = self.replaced.entry(site).or_default();
            own.iter_mut().zip(ends).for_each(|(own, more)| *own += more);
        }
        self.sites.extend(other.sites);
        self
    }
}

impl Signs {
    /// Reads tickets, which must be in order of opening, and all that hang together by matings and end faces.
    pub fn of(tickets: &[Ticket], clues: &Clues, rules: &Rules) -> Signs {
        let mut signs = Signs::default();
        let explained = explained(tickets, clues, rules);
        for mating in explained.iter().filter_map(|number| clues.matings.get(number)) {
            let ends = mating.replaced_ends(rules) as i64;
            signs.replaced.entry(mating.site).or_default()[1] += ends;
        }
        let sites = tickets.iter().map(|ticket| (ticket.bill.source, ticket.site));
        signs.sites = sites.collect();
        let mut told = FxHashSet::default();
        for (number, ticket) in tickets.iter().enumerate() {
            *signs.sources.entry(ticket.bill.source).or_default() += 1;
            let known_to_the_day = ticket.opened_day_end.is_some();
            if !known_to_the_day && !signs.by_record(ticket, clues, rules) {
                signs.by_face(number, ticket, &told, &explained, clues, rules);
            }
            told.extend(meant(number, ticket, clues, rules));
        }
        signs
    }

    /// Adds what the matings tell, once all tickets are read. `replaced`: ends of matings that replaced another while
    /// tickets were written, by code of the site.
    pub fn complete(mut self, replaced: &[u64]) -> Signs {
        for (site, ends) in (0..).zip(replaced).filter(|(_, ends)| **ends > 0) {
            self.replaced.entry(site).or_default()[0] = *ends as i64;
        }
        for (source, site) in &self.sites {
            let [all, known] = self.replaced.get(site).copied().unwrap_or_default();
            *self.unexplained.entry(*source).or_default() += (all - known).max(0);
        }
        self
    }

    fn note(&mut self, source: u32, sign: Sign, delay: i64) {
        if (0..LATEST_DAYS * DAY_US).contains(&delay) {
            let hours = (delay / HOUR_US).min(MOST_HOURS.into()) as u32;
            *self.tickets.entry((source, sign, hours)).or_default() += 1;
        }
    }

    /// Whether the ticket names a mating of one record, whatever it shows.
    fn by_record(&mut self, ticket: &Ticket, clues: &Clues, rules: &Rules) -> bool {
        let Some(named) = named(ticket, clues) else { return false };
        let Some(mating) = clues.matings.get(&named).filter(|mating| !mating.day_only) else {
            return true;
        };
        if let Some(at) = mating.replaced_at(rules).filter(|at| *at <= ticket.opened) {
            self.note(ticket.bill.source, Sign::NamesReplaced, ticket.opened - at);
            self.note(ticket.bill.source, Sign::Delay, ticket.opened - at);
        } else if is_cleared_before(ticket, mating) {
            self.note(ticket.bill.source, Sign::ClearedBefore, ticket.opened - mating.at);
            self.note(ticket.bill.source, Sign::Delay, ticket.opened - mating.at);
        }
        true
    }

    /// What a ticket shows that names an end face alone.
    fn by_face(
        &mut self,
        number: usize,
        ticket: &Ticket,
        told: &FxHashSet<u64>,
        explained: &FxHashSet<u64>,
        clues: &Clues,
        rules: &Rules,
    ) {
        let Some((mating, before)) = standing(number, ticket.opened, clues, rules) else { return };
        if mating.day_only {
            return;
        }
        let delay = ticket.opened - mating.at;
        let cleared = is_cleared_before(ticket, mating);
        if cleared {
            self.note(ticket.bill.source, Sign::ClearedBefore, delay);
        }
        let order = (ticket.work_order >> 32) as u32 ^ ticket.work_order as u32;
        let ordered = before.is_some_and(|before| {
            order != 0 && order == mating.work_order && order != before.work_order
        });
        if ordered {
            self.note(ticket.bill.source, Sign::WorkOrder, delay);
        }
        if cleared || ordered {
            self.note(ticket.bill.source, Sign::Delay, delay);
        }
        let within = i64::from(rules.replaced_within_days) * DAY_US;
        let followed = mating.in_force_end <= ticket.opened.saturating_add(within);
        if let Some(before) = before.filter(|_| !followed && !told.contains(&mating.number)) {
            let sign = match explained.contains(&before.number) {
                true => Sign::Explained,
                false => Sign::Unexplained,
            };
            self.note(ticket.bill.source, sign, delay);
        }
    }

    /// Tickets of a source, or of all, that show a sign so many hours after a replacement.
    fn count(&self, source: Option<u32>, sign: Sign, hours: Range<u32>) -> i64 {
        let wanted = |(own, what, at): &(u32, Sign, u32)| {
            source.is_none_or(|source| source == *own) && *what == sign && hours.contains(at)
        };
        self.tickets.iter().filter(|(key, _)| wanted(key)).map(|(_, tickets)| tickets).sum()
    }

    /// How late the tickets of the fleet are seen to come at least, hours: 0 where nothing is seen, the usual window
    /// where delays within it are, else the longest window that is shown. A shorter window than this is refuted.
    pub fn shown_hours(&self) -> u32 {
        let shown = self.sources.keys().map(|source| self.window(*source));
        let longest = shown.filter(|window| window.is_shown()).map(|window| window.hours).max();
        let within = 0..USUAL_HOURS;
        let seen = self.count(None, Sign::Delay, within.clone()) >= LEAST_TICKETS
            || self
                .sources
                .keys()
                .any(|source| self.is_unexplained(*source, within.clone(), MOST_CHANCE_WITHIN));
        longest.unwrap_or(0).max(if seen { USUAL_HOURS } else { 0 })
    }

    /// The windows that the rules ask for: as stated, or each source's.
    pub fn windows(&self, rules: &Rules) -> Windows {
        let stated = rules.ticket_lag_hours.map(|hours| Window { hours, basis: Basis::Stated });
        let sources = 0..self.sources.keys().last().map_or(0, |last| last + 1);
        Windows::new(sources.map(|source| stated.unwrap_or_else(|| self.window(source))).collect())
    }

    /// What the tickets of a source show.
    fn window(&self, source: u32) -> Window {
        let beyond = USUAL_HOURS..MOST_HOURS;
        let names = self.count(Some(source), Sign::NamesReplaced, beyond.clone());
        let cleared = self.count(Some(source), Sign::ClearedBefore, beyond.clone());
        let basis = if exceeds(names, self.by_chance(source, Sign::NamesReplaced, beyond.clone())) {
            Basis::NamesReplaced
        } else if cleared >= LEAST_TICKETS {
            Basis::ClearedBefore
        } else if self.is_unexplained(source, beyond, MOST_CHANCE) {
            Basis::Unexplained
        } else {
            return Window::USUAL;
        };
        Window { hours: self.hours(source), basis }
    }

    /// Tickets that come by chance in so many hours, as those beyond every window do.
    fn by_chance(&self, source: u32, sign: Sign, hours: Range<u32>) -> f64 {
        let later = self.count(Some(source), sign, MOST_HOURS..MOST_HOURS + 1) as f64;
        later * f64::from(hours.end - hours.start) / LATER_HOURS
    }

    /// Whether tickets follow replacements that nothing explains, so many hours later, more often than the others.
    fn is_unexplained(&self, source: u32, hours: Range<u32>, most_chance: f64) -> bool {
        let after = self.count(Some(source), Sign::Unexplained, hours.clone());
        if !exceeds(after, self.by_chance(source, Sign::Unexplained, hours.clone())) {
            return false;
        }
        let after_explained = self.count(None, Sign::Explained, hours);
        let rest = self.unexplained.get(&source).copied().unwrap_or(0);
        let explained: i64 = self.replaced.values().map(|[_, explained]| explained).sum();
        let share = explained as f64 / (explained + rest).max(1) as f64;
        let [few, all] = [after_explained, after + after_explained].map(i64::unsigned_abs);
        binomial_at_most(few, all, share) <= most_chance
    }

    /// The least window that holds nearly all late tickets of a source.
    fn hours(&self, source: u32) -> u32 {
        let known = self.count(Some(source), Sign::Delay, USUAL_HOURS..MOST_HOURS) >= LEAST_TICKETS;
        let sign = if known { Sign::Delay } else { Sign::Unexplained };
        let late = |hours: Range<u32>| {
            let tickets = self.count(Some(source), sign, hours.clone()) as f64;
            (tickets - self.by_chance(source, sign, hours)).max(0.0)
        };
        let steps = || (0..MOST_HOURS).step_by(STEP_HOURS as usize);
        let all: f64 = steps().map(|from| late(from..from + STEP_HOURS)).sum();
        let mut held = 0.0;
        for from in steps() {
            held += late(from..from + STEP_HOURS);
            if held >= HELD * all {
                return from + STEP_HOURS;
            }
        }
        MOST_HOURS
    }
}

/// Hours beyond every window in which tickets are counted.
const LATER_HOURS: f64 = (LATEST_HOURS - MOST_HOURS) as f64;

/// Whether tickets are clearly more than what comes by chance.
fn exceeds(tickets: i64, by_chance: f64) -> bool {
    let more = tickets as f64 - by_chance;
    tickets >= LEAST_TICKETS && more >= ERRORS * by_chance.max(1.0).sqrt()
}

/// Cleared before the mating that was in force when it was opened.
fn is_cleared_before(ticket: &Ticket, mating: &InForce) -> bool {
    mating.at <= ticket.opened && ticket.cleared.is_some_and(|cleared| cleared < mating.at)
}

/// The one mating that has the record the ticket names.
fn named(ticket: &Ticket, clues: &Clues) -> Option<u64> {
    let found = clues.hits.find(ticket.mating?).ok().flatten();
    found.map(|(mating, _)| mating)
}

/// The mating that a ticket tells of if it is in time: the one it names, else the last one of its end face, in force or
/// just ended.
fn meant(number: usize, ticket: &Ticket, clues: &Clues, rules: &Rules) -> Option<u64> {
    if let Some(named) = named(ticket, clues) {
        return Some(named);
    }
    let [last, ..] = *clues.candidates.get(&(number as u64))?;
    let mating = clues.matings.get(&last)?;
    let within = i64::from(rules.replaced_within_days) * DAY_US;
    (ticket.opened.saturating_sub(mating.in_force_end) <= within).then_some(last)
}

/// Matings replaced soon after a ticket on them was opened.
fn explained(tickets: &[Ticket], clues: &Clues, rules: &Rules) -> FxHashSet<u64> {
    let within = i64::from(rules.replaced_within_days) * DAY_US;
    let of_ticket = |(number, ticket): (usize, &Ticket)| {
        let meant = meant(number, ticket, clues, rules)?;
        let mating = clues.matings.get(&meant).filter(|mating| !mating.day_only)?;
        let at = mating.replaced_at(rules)?;
        (ticket.opened < at && at - ticket.opened <= within).then_some(meant)
    };
    tickets.iter().enumerate().filter_map(of_ticket).collect()
}
