//! Tickets become faults: attached to matings (F2), merged (F3), and looked up by end face.

use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use super::lists::Lists;
use super::pair::Pair;
use super::price::Bill;
use super::prompting::Prompting;
use super::ticket::{Hits, Ticket};
use super::window::{Window, Windows};
use crate::calendar::{DAY_US, HOUR_US, SECOND_US};
use crate::derive::face::event::{NEVER, NO_MATING};
use crate::derive::face::visit::Visit;
use crate::derive::scan::key::Key;
use crate::records::{Level, code_list};
use crate::settings::Rules;

code_list! {
    /// How a ticket found its mating (F2).
    How {
        /// By the mating's record, which it names.
        ByRecord = "record",
        /// By the end face, which it names.
        ByEndFace = "end-face",
        /// Stamped after the repair: it belongs to the mating that was replaced.
        Lagged = "lagged",
        /// The record it names is that of several matings, and its end face did not settle it.
        Ambiguous = "ambiguous",
        /// Not at all.
        Unattached = "unattached",
    }
}

/// A fault of one mating: one ticket, or several within a day of the first (F3).
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// [`NO_MATING`] where it is attached to none.
    pub mating: u64,
    /// When it counts, microseconds UTC.
    pub at: i64,
    /// When the last of its tickets counts, microseconds UTC: each speaks against a reseat (C3).
    pub last_at: i64,
    /// As written on its first ticket, microseconds UTC: the period it belongs to goes by this.
    pub opened: i64,
    /// How surely it is linked to contamination (R6).
    pub level: Level,
    /// Code of the cause that gave the level.
    pub cause: u32,
    /// Of a cause that dirt cannot produce.
    pub control: bool,
    /// What each of its tickets says of its price, in their order: costs are added over all (F3).
    pub bills: Vec<Bill>,
    /// Minutes that service was out, as its tickets state; none where none does.
    pub downtime_min: Option<i64>,
    /// Tickets that it was merged from.
    pub tickets: u32,
    /// Seconds from opening to clearing, of the ticket cleared last.
    pub restore_s: Option<i64>,
    /// None of its tickets says when it was cleared, though its first one's source says so of others.
    pub open: bool,
    /// How its first ticket found the mating.
    pub how: How,
    /// It counts while its mating was in force.
    pub inside: bool,
    /// Code of the site.
    pub site: u32,
    /// Code of the stage at which it was found.
    pub found_stage: u8,
}

/// One ticket and where it belongs.
struct Placed {
    ticket: usize,
    mating: u64,
    at: i64,
    how: How,
    inside: bool,
}

/// Every fault, findable by mating and by end face.
#[derive(Clone, Default)]
pub struct Faults {
    /// By mating, then time.
    all: Vec<Fault>,
    by_mating: FxHashMap<u64, std::ops::Range<u32>>,
    /// Times at which faults count and their matings, by end face, rising.
    at_face: Lists<Key, (i64, u64)>,
    /// What their tickets say of visits; none where only matings are asked for.
    prompting: Option<Box<Prompting>>,
    /// By ticket: whether it found a mating.
    attached: Vec<bool>,
    /// Tickets whose record was ambiguous, whether or not the end face settled it.
    pub ambiguous: u64,
}

/// What attaching needs of a mating: a quarter of a [`Pair`], since there may be millions.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct InForce {
    /// Its number among the fleet's matings.
    pub number: u64,
    /// Code of the site.
    pub site: u32,
    /// When it was made, microseconds UTC.
    pub at: i64,
    /// In force from its time to this, both included.
    pub in_force_end: i64,
    /// Its end faces.
    pub ends: [Key; 2],
    /// When each end was mated again, [`NEVER`] if it was not.
    next: [i64; 2],
    /// Known to the day only.
    pub day_only: bool,
    /// Half of the work order's hash, 0 for none.
    pub work_order: u32,
}

impl InForce {
    /// Of a joined mating.
    pub fn of(pair: &Pair) -> InForce {
        let row = &pair.row;
        InForce {
            number: row.number,
            at: row.at,
            in_force_end: pair.in_force_end(),
            ends: row.ends,
            site: row.site,
            next: pair.halves.map(|half| half.map_or(NEVER, |half| half.next_at)),
            day_only: row.day_only == 1,
            work_order: row.work_order,
        }
    }

    /// When the ends were mated again that were so soon enough to count as replaced.
    fn replacements(&self, rules: &Rules) -> impl Iterator<Item = i64> {
        let days = i64::from(rules.replaced_within_days) * DAY_US;
        let last = self.in_force_end.saturating_add(days);
        self.next.into_iter().filter(move |at| *at != NEVER && *at <= last)
    }

    /// When it was replaced: the first of its ends was mated again, soon enough.
    pub fn replaced_at(&self, rules: &Rules) -> Option<i64> {
        self.replacements(rules).min()
    }

    /// How many of its ends were mated again soon enough.
    pub fn replaced_ends(&self, rules: &Rules) -> usize {
        self.replacements(rules).count()
    }
}

/// What attaching goes by.
pub struct Clues<'a> {
    /// Matings by the record that tickets name.
    pub hits: &'a Hits,
    /// By ticket, the last three matings of its end face.
    pub candidates: &'a FxHashMap<u64, [u64; 3]>,
    /// The matings among them.
    pub matings: &'a FxHashMap<u64, InForce>,
    /// Places of the sources that say of some ticket when it was cleared.
    pub clearing: &'a FxHashSet<u16>,
}

/// The matings that must be joined before tickets can be attached.
pub fn wanted(
    tickets: &[Ticket],
    hits: &Hits,
    candidates: &FxHashMap<u64, [u64; 3]>,
) -> FxHashSet<u64> {
    let by_record = tickets.iter().filter_map(|ticket| hits.find(ticket.mating?).ok().flatten());
    let by_face = candidates.values().flatten().copied().filter(|mating| *mating != NO_MATING);
    by_record.map(|(mating, _)| mating).chain(by_face).collect()
}

impl Faults {
    /// Attaches and merges. Tickets must be in order of opening.
    pub fn of(tickets: &[Ticket], clues: &Clues, rules: &Rules, windows: &Windows) -> Faults {
        let (mut faults, placed) = Self::placed(tickets, clues, rules, windows);
        faults.attached = placed.iter().map(|place| place.mating != NO_MATING).collect();
        // Open from `opened` as written, or from the mating of that day that it names.
        let from = |place: &Placed| match place.how {
            How::ByRecord => place.at,
            _ => tickets[place.ticket].opened,
        };
        let found: Vec<(u64, i64)> =
            placed.iter().map(|place| (place.mating, from(place))).collect();
        faults.prompting = Some(Box::new(Prompting::of(tickets, &found, rules)));
        faults.merged(tickets, placed, clues, rules)
    }

    /// The same under other windows, as far as matings are asked for.
    pub fn of_others(
        tickets: &[Ticket],
        clues: &Clues,
        rules: &Rules,
        windows: &Windows,
    ) -> Faults {
        let (faults, placed) = Self::placed(tickets, clues, rules, windows);
        faults.merged(tickets, placed, clues, rules)
    }

    /// Where each ticket belongs, in their order.
    fn placed(
        tickets: &[Ticket],
        clues: &Clues,
        rules: &Rules,
        windows: &Windows,
    ) -> (Faults, Vec<Placed>) {
        let mut faults = Faults::default();
        let place = |(number, ticket): (usize, &Ticket)| {
            let window = windows.of(ticket.bill.source);
            let (place, ambiguous) = place(number, ticket, clues, rules, window);
            faults.ambiguous += u64::from(ambiguous);
            place
        };
        let placed = tickets.iter().enumerate().map(place).collect();
        (faults, placed)
    }

    /// Merges the tickets that were placed.
    fn merged(
        mut self,
        tickets: &[Ticket],
        mut placed: Vec<Placed>,
        clues: &Clues,
        rules: &Rules,
    ) -> Faults {
        placed.sort_by_key(|place| (place.mating, place.at, place.ticket));
        let firsts = merge(&placed, (tickets, clues.clearing), rules, &mut self.all);
        drop(placed);
        let mut at_face = Vec::with_capacity(2 * self.all.len());
        for (fault, first) in self.all.iter().zip(firsts) {
            let pair = clues.matings.get(&fault.mating);
            let ends = pair.map_or([tickets[first].end_face, Key::NONE], |pair| pair.ends);
            let known = ends.into_iter().filter(|key| key.is_known());
            at_face.extend(known.map(|key| (key, (fault.at, fault.mating))));
        }
        self.at_face = Lists::of(at_face);
        self.find();
        self
    }

    /// Finds the faults of each mating.
    fn find(&mut self) {
        for (number, fault) in (0..).zip(&self.all) {
            if fault.mating != NO_MATING {
                let range = self.by_mating.entry(fault.mating).or_insert(number..number);
                range.end = number + 1;
            }
        }
    }

    /// Of faults by mating and time, and of when some of them count on end faces: what is asked of them of matings alone.
    pub fn of_matings(all: Vec<Fault>, at_face: Lists<Key, (i64, u64)>) -> Faults {
        let mut faults = Faults { all, at_face, ..Faults::default() };
        faults.find();
        faults
    }

    /// The matings that have faults, in no order.
    pub fn matings(&self) -> impl Iterator<Item = u64> {
        self.by_mating.keys().copied()
    }

    /// Every fault, by mating and time; those without a mating last.
    pub fn all(&self) -> &[Fault] {
        &self.all
    }

    /// Whether a ticket, by its place in the list that they were made of, found a mating.
    pub fn is_attached(&self, ticket: usize) -> bool {
        self.attached.get(ticket).copied().unwrap_or(false)
    }

    /// The faults of a mating in order of time.
    pub fn of_mating(&self, mating: u64) -> &[Fault] {
        self.near_mating(mating).unwrap_or(&[])
    }

    /// The same, none where no ticket touches the mating under any window of [`Self::also_near`].
    pub fn near_mating(&self, mating: u64) -> Option<&[Fault]> {
        let range = self.by_mating.get(&mating)?;
        Some(&self.all[range.start as usize..range.end as usize])
    }

    /// When faults count on an end face, and of which matings; none as in [`Self::near_mating`].
    pub fn near_face(&self, key: Key) -> Option<&[(i64, u64)]> {
        if !key.is_known() {
            return None;
        }
        self.at_face.get(&key)
    }

    /// Knows every mating and end face that has faults under other windows, without faults of these.
    pub fn also_near(&mut self, other: &Faults) {
        for mating in other.by_mating.keys() {
            self.by_mating.entry(*mating).or_insert(0..0);
        }
        other.at_face.keys().for_each(|key| self.at_face.know(key));
    }

    /// C3: one of the faults of an end face, of any cause, counts in the days before the mating `own`
    /// at `at`. One at that very instant counts before it unless it is a fault of that mating.
    pub fn shortly_before(times: &[(i64, u64)], own: u64, at: i64, rules: &Rules) -> bool {
        Self::last_before(times, own, at, rules).is_some()
    }

    /// The last of the faults that make it so.
    pub fn last_before(
        times: &[(i64, u64)],
        own: u64,
        at: i64,
        rules: &Rules,
    ) -> Option<(i64, u64)> {
        let up_to = times.partition_point(|(time, _)| *time <= at);
        let days = i64::from(rules.after_fault_days) * DAY_US;
        let mut recent =
            times[..up_to].iter().rev().take_while(|(time, _)| at.saturating_sub(*time) <= days);
        recent.find(|(time, mating)| *time < at || *mating != own).copied()
    }

    /// V7: whether a fault on the end face, on the mating before it or of its work order was behind
    /// the visit.
    pub fn prompted(&self, visit: &Visit, rules: &Rules) -> bool {
        self.prompting.as_ref().is_some_and(|tickets| tickets.prompted(visit, rules))
    }
}

/// F2. Also tells whether the record it names was ambiguous.
fn place(
    number: usize,
    ticket: &Ticket,
    clues: &Clues,
    rules: &Rules,
    window: Window,
) -> (Placed, bool) {
    let placed = |mating, at, how, inside| Placed { ticket: number, mating, at, how, inside };
    let found = ticket.mating.map(|key| clues.hits.find(key));
    if let Some(Ok(Some((mating, mated_at)))) = found {
        // Known to the day only: it counts as the mating's time where that is of the same day.
        let at = match ticket.opened_day_end {
            Some(end) if ticket.opened <= mated_at && mated_at <= end => mated_at,
            _ => ticket.opened,
        };
        let named = clues.matings.get(&mating);
        // Tickets of this source are known to come after the repair: so did one that names what was replaced.
        let late = named.filter(|_| window.is_shown()).filter(|pair| {
            let replaced = pair.replaced_at(rules).filter(|replaced| *replaced <= at);
            replaced.is_some_and(|replaced| window.holds(at - replaced))
        });
        if let Some(pair) = late {
            return (placed(mating, pair.in_force_end, How::Lagged, true), false);
        }
        let inside = named.is_some_and(|pair| pair.at <= at && at <= pair.in_force_end);
        return (placed(mating, at, How::ByRecord, inside), false);
    }
    let ambiguous = matches!(found, Some(Err(_)));
    let by_face = standing(number, ticket.opened, clues, rules).map(|(pair, before)| match before
        .filter(|_| window.holds(ticket.opened - pair.at))
    {
        Some(before) => (before.number, before.in_force_end, How::Lagged),
        None => (pair.number, ticket.opened, How::ByEndFace),
    });
    let place = match by_face {
        Some((mating, at, how)) => placed(mating, at, how, true),
        None if ambiguous => placed(NO_MATING, ticket.opened, How::Ambiguous, false),
        None => placed(NO_MATING, ticket.opened, How::Unattached, false),
    };
    (place, ambiguous)
}

/// The mating of a ticket's end face that was in force at `opened`, of two that touch the earlier, and
/// the one that it replaced.
pub fn standing<'a>(
    number: usize,
    opened: i64,
    clues: &Clues<'a>,
    rules: &Rules,
) -> Option<(&'a InForce, Option<&'a InForce>)> {
    let matings = clues.matings;
    let candidates = clues.candidates.get(&(number as u64))?;
    let chosen = (0..3).rev().find(|place| {
        let pair = matings.get(&candidates[*place]);
        pair.is_some_and(|pair| pair.at <= opened && opened <= pair.in_force_end)
    })?;
    let pair = matings.get(&candidates[chosen])?;
    let replaced =
        candidates.get(chosen + 1).and_then(|mating| matings.get(mating)).filter(|before| {
            let gap = pair.at.saturating_sub(before.in_force_end);
            gap <= i64::from(rules.replaced_within_days) * DAY_US
        });
    Some((pair, replaced))
}

/// F3: tickets on one mating within a day of the first are one fault. Returns the first ticket of
/// each fault.
fn merge(
    placed: &[Placed],
    (tickets, clearing): (&[Ticket], &FxHashSet<u16>),
    rules: &Rules,
    faults: &mut Vec<Fault>,
) -> Vec<usize> {
    let mut firsts = Vec::with_capacity(placed.len());
    let within = i64::from(rules.merge_tickets_hours) * HOUR_US;
    for place in placed {
        let ticket = &tickets[place.ticket];
        let restore = ticket.cleared.map(|cleared| (cleared - ticket.opened).max(0) / SECOND_US);
        let open = faults.last_mut().filter(|fault| {
            fault.mating != NO_MATING
                && fault.mating == place.mating
                && place.at - fault.at <= within
        });
        if let Some(fault) = open {
            if ticket.level > fault.level {
                (fault.level, fault.cause, fault.control) =
                    (ticket.level, ticket.cause, ticket.control);
            }
            fault.bills.push(ticket.bill);
            fault.downtime_min = match (fault.downtime_min, ticket.downtime_min) {
                (Some(sum), Some(more)) => Some(sum.saturating_add(more)),
                (sum, more) => sum.or(more),
            };
            fault.tickets += 1;
            fault.last_at = place.at;
            fault.restore_s = fault.restore_s.max(restore);
            fault.open &= restore.is_none();
            continue;
        }
        firsts.push(place.ticket);
        faults.push(Fault {
            mating: place.mating,
            at: place.at,
            last_at: place.at,
            opened: ticket.opened,
            level: ticket.level,
            cause: ticket.cause,
            control: ticket.control && ticket.level == Level::None,
            bills: vec![ticket.bill],
            downtime_min: ticket.downtime_min,
            tickets: 1,
            restore_s: restore,
            open: restore.is_none() && clearing.contains(&ticket.source),
            how: place.how,
            inside: place.inside,
            site: ticket.site,
            found_stage: ticket.found_stage,
        });
    }
    firsts
}
