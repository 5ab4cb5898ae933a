//! What attaching goes by, by group of tickets that hang together.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::derive::DeriveError;
use crate::derive::face::visit::Visit;
use crate::derive::mating::fault::{Clues, InForce};
use crate::derive::mating::handed::Asked;
use crate::derive::mating::named::Candidates;
use crate::derive::mating::ticket::{Hit, Hits, Numbered, Ticket};
use crate::derive::scan::key::Key;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::packed::Packed;
use crate::derive::share::stage::Kind;
use crate::derive::share::work::Spilled;
use crate::store::Buckets;

/// All that attaching goes by, by group.
#[derive(Default)]
pub(super) struct GroupRows {
    pub(super) tickets: Packed<Numbered>,
    pub(super) hits: Packed<(Key, Hit)>,
    pub(super) candidates: Buckets<Candidates>,
    pub(super) matings: Packed<InForce>,
    pub(super) visits: Packed<Visit>,
    pub(super) asked: Buckets<Asked>,
}

impl Spilled for GroupRows {
    fn handed(input: &Input) -> Result<GroupRows, DeriveError> {
        Ok(GroupRows {
            tickets: Packed::handed(input, Kind::GroupTickets)?,
            hits: Packed::handed(input, Kind::GroupHits)?,
            candidates: input.take(Kind::GroupCandidates)?,
            matings: Packed::handed(input, Kind::GroupMatings)?,
            visits: Packed::handed(input, Kind::GroupVisits)?,
            asked: input.take(Kind::GroupAsked)?,
        })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        self.tickets.hand_on(output, Kind::GroupTickets)?;
        self.hits.hand_on(output, Kind::GroupHits)?;
        output.rows(Kind::GroupCandidates, &self.candidates)?;
        self.matings.hand_on(output, Kind::GroupMatings)?;
        self.visits.hand_on(output, Kind::GroupVisits)?;
        output.rows(Kind::GroupAsked, &self.asked)
    }
}

/// A group of tickets, and what attaching them goes by.
pub(super) struct Group {
    /// In their order.
    pub(super) tickets: Vec<Ticket>,
    hits: Hits,
    candidates: FxHashMap<u64, [u64; 3]>,
    matings: FxHashMap<u64, InForce>,
}

impl Group {
    pub(super) fn clues<'a>(&'a self, clearing: &'a FxHashSet<u16>) -> Clues<'a> {
        let Group { hits, candidates, matings, .. } = self;
        Clues { hits, candidates, matings, clearing }
    }
}

impl GroupRows {
    /// Groups of which something is here have lower numbers than this.
    pub(super) fn count(&self) -> usize {
        self.tickets.count().max(self.visits.count())
    }

    pub(super) fn read(&self, group: usize) -> Result<Group, DeriveError> {
        let mut numbered = Vec::new();
        self.tickets.each(group, |ticket| {
            numbered.push(ticket);
            Ok(())
        })?;
        numbered.sort_unstable_by(|one: &Numbered, other| {
            one.ticket.order(&other.ticket).then(one.number.cmp(&other.number))
        });
        let places: FxHashMap<u64, u64> = numbered.iter().map(|one| one.number).zip(0..).collect();
        let candidates = self.candidates.read(group)?.into_iter();
        let candidates = candidates
            .filter_map(|some| Some((*places.get(&some.ticket)?, some.matings)))
            .collect();
        let (mut hits, mut matings) = (Hits::default(), FxHashMap::default());
        self.hits.each(group, |hit| {
            hits.add(hit);
            Ok(())
        })?;
        self.matings.each(group, |mating| {
            matings.insert(mating.number, mating);
            Ok(())
        })?;
        let tickets = numbered.into_iter().map(|one| one.ticket).collect();
        Ok(Group { tickets, hits, candidates, matings })
    }
}
