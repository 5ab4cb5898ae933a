//! Where tickets are not all at hand: which of them hang together, so that each group is attached by itself.
//!
//! Two tickets hang together where they name one end face or one record, or where matings that they may belong to
//! have an end face in common. What a ticket says tells nothing of another group, but for its work order, which is told
//! here. The one worker that finds the groups sees every ticket pass and keeps of it only what it joins by.

use std::collections::BTreeSet;
use std::path::Path;

use bytemuck::Pod;
use rustc_hash::FxHashSet;
use serde::{Deserialize, Serialize};

use super::bucketwise::Run;
use super::group_rows::GroupRows;
use super::pass_one::PassOne;
use super::waiting::Waiting;
use crate::derive::DeriveError;
use crate::derive::mating::fault::InForce;
use crate::derive::mating::late::Signs;
use crate::derive::mating::ticket::{Numbered, Ticket, WorkOrders};
use crate::derive::scan::key::Key;
use crate::derive::scan::tickets::most_tickets;
use crate::derive::share::packed::{Packed, PackedSpill};
use crate::derive::share::states::State;
use crate::derive::share::together::{Together, group_of, mixed};
use crate::derive::share::work::Stepped;
use crate::store::{Spill, Store};

/// Tickets that a group should not much exceed, and the most groups. (What hangs together is not parted.)
const GROUP_TICKETS: u64 = 256;
const MOST_GROUPS: u64 = 1024;

/// What tickets are joined by.
#[derive(Clone, Copy)]
enum Node {
    Face(Key),
    Record(Key),
    Mating(u64),
    /// A ticket that names nothing.
    Ticket(u64),
}

impl Node {
    fn hash(self) -> u64 {
        let of_key = |key: Key| key.high ^ key.low.rotate_left(32);
        mixed(match self {
            Node::Face(key) => of_key(key),
            Node::Record(key) => of_key(key).wrapping_add(1 << 61),
            Node::Mating(number) => number.wrapping_add(2 << 61),
            Node::Ticket(number) => number.wrapping_add(3 << 61),
        })
    }
}

/// What a ticket names.
fn named(number: u64, ticket: &Ticket) -> impl Iterator<Item = u64> + use<> {
    let face = Some(ticket.end_face).filter(|key| key.is_known()).map(|key| Node::Face(key).hash());
    let record = ticket.mating.map(|key| Node::Record(key).hash());
    let is_neither = face.is_none() && record.is_none();
    let own = is_neither.then(|| Node::Ticket(number).hash());
    face.into_iter().chain(record).chain(own)
}

fn ends(mating: &InForce) -> impl Iterator<Item = u64> + use<> {
    mating.ends.into_iter().filter(|key| key.is_known()).map(|key| Node::Face(key).hash())
}

/// What is known of all tickets before any is attached.
#[derive(Debug, Default, Serialize, Deserialize)]
pub struct Grouping {
    /// Places of the sources that say of some ticket when it was cleared.
    clearing: BTreeSet<u16>,
}

impl State for Grouping {
    /// One worker sees all tickets, so there is one.
    fn merge(self, _: Grouping) -> Grouping {
        self
    }
}

impl Grouping {
    /// Of tickets that are at hand.
    pub(super) fn of(tickets: &[Ticket]) -> Grouping {
        let mut grouping = Grouping::default();
        tickets.iter().for_each(|ticket| grouping.add(ticket));
        grouping
    }

    fn add(&mut self, ticket: &Ticket) {
        if ticket.cleared.is_some() {
            self.clearing.insert(ticket.source);
        }
    }

    /// The sources that say of some ticket when it was cleared.
    pub(super) fn clearing(&self) -> FxHashSet<u16> {
        self.clearing.iter().copied().collect()
    }
}

/// What the rows are put into groups by.
struct Found {
    together: Together,
    orders: WorkOrders,
    grouping: Grouping,
    groups: usize,
}

/// Puts rows into their groups; those that no ticket touches are in none.
fn put<T: Pod>(
    rows: &[T],
    mut group: impl FnMut(&T) -> Option<usize>,
    into: &mut Spill<T>,
) -> Result<(), DeriveError> {
    for row in rows {
        if let Some(group) = group(row) {
            into.push(group, row)?;
        }
    }
    Ok(())
}

impl Run<'_> {
    /// Finds the groups, and puts what attaching goes by into them.
    pub(super) fn grouped(
        &self,
        one: &PassOne,
        waiting: Waiting,
        matings: &Packed<InForce>,
        store: &Store,
    ) -> Result<Stepped<Grouping, GroupRows>, DeriveError> {
        let groups = most_tickets(store).div_ceil(GROUP_TICKETS).clamp(1, MOST_GROUPS);
        let mut found = self.found(matings, groups as usize)?;
        let folder = store.work_folder();
        let rows = self.in_groups(&mut found, one, (waiting, matings), &folder)?;
        Ok((found.grouping, None, rows))
    }

    /// What the tickets of all groups here show of how late they come.
    pub(super) fn signs_of_groups(
        &self,
        groups: &GroupRows,
        clearing: &FxHashSet<u16>,
    ) -> Result<Signs, DeriveError> {
        let mut signs = Signs::default();
        for group in 0..groups.count() {
            let own = groups.read(group)?;
            signs = signs.merge(Signs::of(&own.tickets, &own.clues(clearing), self.rules()));
        }
        Ok(signs)
    }

    /// Every ticket up to the period's end: what was opened after it is not read.
    fn each_ticket(
        &self,
        mut each: impl FnMut(Numbered) -> Result<(), DeriveError>,
    ) -> Result<(), DeriveError> {
        self.names.tickets.each(0, |one| match one.ticket.opened < self.period.end {
            true => each(one),
            false => Ok(()),
        })
    }

    fn found(&self, matings: &Packed<InForce>, groups: usize) -> Result<Found, DeriveError> {
        let mut together = Together::default();
        let (mut orders, mut grouping) = (WorkOrders::default(), Grouping::default());
        self.each_ticket(|Numbered { number, ticket }| {
            grouping.add(&ticket);
            orders.add(&ticket);
            together.join(named(number, &ticket));
            Ok(())
        })?;
        self.scanned.hit_rows.each(0, |(record, hit)| {
            if together.knows(Node::Record(record).hash()) {
                together.join([Node::Record(record).hash(), Node::Mating(hit.mating).hash()]);
            }
            Ok(())
        })?;
        matings.each(0, |mating| {
            let own = Some(Node::Mating(mating.number).hash());
            let own = own.filter(|own| together.knows(*own));
            together.join(ends(&mating).chain(own));
            Ok(())
        })?;
        Ok(Found { together, orders, grouping, groups })
    }

    fn in_groups(
        &self,
        Found { together, orders, groups, .. }: &mut Found,
        one: &PassOne,
        (waiting, all_matings): (Waiting, &Packed<InForce>),
        folder: &Path,
    ) -> Result<GroupRows, DeriveError> {
        let groups = *groups;
        let (mut tickets, mut hits) =
            (PackedSpill::new(folder, groups)?, PackedSpill::new(folder, groups)?);
        let (mut matings, mut visits) =
            (PackedSpill::new(folder, groups)?, PackedSpill::new(folder, groups)?);
        let (mut candidates, mut asked) =
            (Spill::new(folder, groups)?, Spill::new(folder, groups)?);
        self.each_ticket(|one| {
            let node = named(one.number, &one.ticket).next();
            let group = node.and_then(|node| together.group(node, groups));
            group.map_or(Ok(()), |group| tickets.push(group, one))
        })?;
        self.scanned.hit_rows.each(0, |hit| {
            let group = together.group(Node::Record(hit.0).hash(), groups);
            group.map_or(Ok(()), |group| hits.push(group, hit))
        })?;
        all_matings.each(0, |mating| {
            let node = ends(&mating).next().unwrap_or(Node::Mating(mating.number).hash());
            let group = together.group(node, groups);
            group.map_or(Ok(()), |group| matings.push(group, mating))
        })?;
        // Two mebibytes of rows at a time.
        let mut of_face = |key: Key| together.group(Node::Face(key).hash(), groups);
        one.candidate_rows
            .chunks(0, 1 << 15, |rows| put(rows, |row| of_face(row.key), &mut candidates))?;
        one.asked.chunks(0, 1 << 15, |rows| put(rows, |row| of_face(row.key), &mut asked))?;
        waiting.each(|mut visit| {
            // Tickets of any group may be of its work order.
            visit.prompted = orders.has(visit.site, visit.work_order);
            let face = Node::Face(visit.key).hash();
            let group = together.group(face, groups);
            visits.push(group.unwrap_or_else(|| group_of(face, groups)), visit)
        })?;
        Ok(GroupRows {
            tickets: tickets.finish()?,
            hits: hits.finish()?,
            candidates: candidates.finish()?,
            matings: matings.finish()?,
            visits: visits.finish()?,
            asked: asked.finish()?,
        })
    }
}
