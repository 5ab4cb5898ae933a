//! Pass one, by end face: visits are counted, halves of matings handed on.

use std::borrow::Cow;
use std::path::Path;
use std::sync::Arc;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::bucketwise::Run;
use super::counting::Facts;
use super::waiting::{Waiting, WaitingSpill};
use crate::derive::DeriveError;
use crate::derive::counts::{
    Counts, Tallying, tally_end_face, tally_look, tally_look_pair, tally_mated_end,
};
use crate::derive::face::agreement::LookPair;
use crate::derive::face::apart::{Apart, Meeting};
use crate::derive::face::end_face::{FaceSink, read_bucket, read_ordered};
use crate::derive::face::event::{Event, Half, NO_MATING, flag, kind};
use crate::derive::face::left_failing::LeftFailing;
use crate::derive::face::order::order_in_place;
use crate::derive::face::surroundings::Surroundings;
use crate::derive::face::visit::Visit;
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::{VisitBuckets, VisitSpill};
use crate::derive::mating::handed::Asked;
use crate::derive::mating::named::Candidates;
use crate::derive::scan::names::MIXED;
use crate::derive::scan::spread::Spread;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::stage::{Kind, Stage};
use crate::derive::share::states::State;
use crate::derive::share::work::{Spilled, Stepped};
use crate::store::{Buckets, Spill, Store, StoreError};

/// Events of a bucket beyond which they are put in order where they lie, which takes longer and half the memory.
const LARGE: usize = 1 << 20;

/// What pass one leaves.
pub(super) struct PassOne {
    /// What was counted of looks and end faces.
    pub(super) counts: Counts,
    /// Ends of matings, in the bucket of their mating.
    pub(super) halves: Buckets<Half>,
    /// By ticket that names an end face: the end face's last three matings, the latest first.
    pub(super) candidates: FxHashMap<u64, [u64; 3]>,
    /// The same where tickets are not at hand.
    pub(super) candidate_rows: Buckets<Candidates>,
    /// There: numbers of the matings that tickets may belong to, in the bucket of the mating.
    pub(super) wanted: Buckets<u64>,
    /// Visits that a fault may have prompted: counted once faults are attached.
    pub(super) waiting: Waiting,
    /// Where tickets are not at hand: matings of the end faces that tickets may touch.
    pub(super) asked: Buckets<Asked>,
    /// By code of the site: ends of matings that replaced another while tickets were written.
    pub(super) replaced: Vec<u64>,
    /// What is to be counted of visits.
    pub(super) facts: Facts,
    /// Where the names of looks and of matings stand apart (R8).
    pub(super) apart: Apart,
}

/// What pass one learns apart from rows and counts.
#[derive(Default, Serialize, Deserialize)]
pub struct Passed {
    replaced: Vec<u64>,
    meeting: Meeting,
}

impl State for Passed {
    fn merge(mut self, other: Passed) -> Passed {
        self.replaced.resize(other.replaced.len().max(self.replaced.len()), 0);
        self.replaced.iter_mut().zip(other.replaced).for_each(|(sum, more)| *sum += more);
        Passed { meeting: self.meeting.merge(other.meeting), ..self }
    }
}

/// The rows that pass one makes.
#[derive(Default)]
struct PassedRows {
    halves: Buckets<Half>,
    visits: VisitBuckets,
    waiting: Waiting,
    asked: Buckets<Asked>,
    candidates: FxHashMap<u64, [u64; 3]>,
    candidate_rows: Buckets<Candidates>,
    wanted: Buckets<u64>,
}

impl Spilled for PassedRows {
    fn handed(input: &Input) -> Result<PassedRows, DeriveError> {
        Ok(PassedRows {
            halves: input.take(Kind::Halves)?,
            visits: VisitBuckets::handed(input)?,
            waiting: Waiting::handed(input)?,
            asked: input.take(Kind::Asked)?,
            candidates: FxHashMap::default(),
            candidate_rows: input.take(Kind::Candidates)?,
            wanted: input.take(Kind::Wanted)?,
        })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        output.rows(Kind::Halves, &self.halves)?;
        self.visits.hand_on(output)?;
        self.waiting.hand_on(output)?;
        output.rows(Kind::Asked, &self.asked)?;
        output.rows(Kind::Candidates, &self.candidate_rows)?;
        output.rows(Kind::Wanted, &self.wanted)
    }
}

/// What pass one writes where tickets are not at hand.
struct ForTickets {
    candidates: Spill<Candidates>,
    wanted: Spill<u64>,
    asked: Spill<Asked>,
}

impl ForTickets {
    fn new(folder: &Path, spread: Spread) -> Result<ForTickets, DeriveError> {
        Ok(ForTickets {
            candidates: Spill::new(folder, 1)?,
            wanted: Spill::new(folder, spread.matings())?,
            asked: Spill::new(folder, 1)?,
        })
    }

    fn candidates(&mut self, some: &Candidates, spread: Spread) -> Result<(), StoreError> {
        for mating in some.matings.into_iter().filter(|mating| *mating != NO_MATING) {
            self.wanted.push(spread.mating(mating), &mating)?;
        }
        self.candidates.push(0, some)
    }
}

/// One thread of pass one.
struct Passing<'a> {
    run: &'a Run<'a>,
    with: Tallying<'a>,
    counts: Counts,
    halves: Spill<Half>,
    failure: Option<DeriveError>,
    candidates: FxHashMap<u64, [u64; 3]>,
    waiting: WaitingSpill,
    /// Where tickets are not at hand.
    for_tickets: Option<ForTickets>,
    replaced: Vec<u64>,
    visits: VisitSpill,
    meeting: Meeting,
}

impl FaceSink for Passing<'_> {
    fn visit(&mut self, visit: Visit) {
        let named = self.run.named;
        let may_be_prompted = visit.touched
            || named.may_name(visit.key)
            || named.may_have_order(visit.site, visit.work_order);
        let pushed = if may_be_prompted {
            self.waiting.push(visit)
        } else {
            self.run.witness.visit(&visit);
            self.visits.push(&visit)
        };
        if let Err(error) = pushed {
            self.failure.get_or_insert(error);
        }
    }

    fn half(&mut self, half: Half) {
        let bucket = self.run.spread.mating(half.mating);
        if let Err(error) = self.halves.push(bucket, &half) {
            self.failure.get_or_insert(error.into());
        }
    }

    fn mated_end(&mut self, mating: &Event, looked_at: u8) {
        let quarter = self.with.quarter(mating.at);
        let place = (mating.site, mating.stage);
        tally_mated_end(place, looked_at, quarter, &mut self.counts.coverage);
    }

    fn candidates(&mut self, some: Candidates) {
        let Some(rows) = &mut self.for_tickets else {
            self.candidates.insert(some.ticket, some.matings);
            return;
        };
        if let Err(error) = rows.candidates(&some, self.run.spread) {
            self.failure.get_or_insert(error.into());
        }
    }

    fn replaced(&mut self, site: u32) {
        let site = site as usize;
        if self.replaced.len() <= site {
            self.replaced.resize(site + 1, 0);
        }
        self.replaced[site] += 1;
    }

    fn conflict(&mut self) {
        self.counts.conflicts += 1;
    }

    fn look(&mut self, look: &Event) {
        tally_look(look, &self.with, &mut self.counts.first_pass);
    }

    fn events(&mut self, events: &[Event]) {
        let matings = || events.iter().filter(|event| event.kind == kind::MATING);
        // Where tickets are at hand nobody need ask.
        if let Some(ForTickets { asked, .. }) = &mut self.for_tickets
            && matings().any(|event| event.has(flag::TOUCHED))
        {
            for Event { key, mating, at, .. } in matings() {
                if let Err(error) = asked.push(0, &Asked { key: *key, mating: *mating, at: *at }) {
                    self.failure.get_or_insert(error.into());
                }
            }
        }
        self.meeting.add(events, &self.run.calendar.quarters);
    }

    fn look_pair(&mut self, pair: LookPair) {
        tally_look_pair(&pair, self.with.quarter(pair.at), &mut self.counts.trust);
    }

    fn end_face(&mut self, site: u32, registered: bool, named: bool) {
        tally_end_face(site, registered, named, &mut self.counts.trust);
    }

    fn left_failing(&mut self, left: LeftFailing) {
        self.counts.worklist.left.add(left.cell(), left);
    }
}

impl Run<'_> {
    /// Runs it.
    pub(super) fn pass_one(
        &self,
        store: &Store,
        places: &Arc<Places>,
    ) -> Result<PassOne, DeriveError> {
        let stepped = self.work.step(Stage::PassOne, || self.passed(store, places))?;
        let (Passed { replaced, meeting }, counts, rows) = stepped;
        let PassedRows { halves, visits, waiting, asked, candidates, candidate_rows, wanted } =
            rows;
        let counts = counts.unwrap_or_else(|| self.no_counts());
        let facts = Facts { visits, ..Facts::default() };
        let apart = meeting.apart(self.rules());
        Ok(PassOne {
            counts,
            halves,
            candidates,
            candidate_rows,
            wanted,
            waiting,
            asked,
            replaced,
            facts,
            apart,
        })
    }

    fn passed(
        &self,
        store: &Store,
        places: &Arc<Places>,
    ) -> Result<Stepped<Passed, PassedRows>, DeriveError> {
        let mixed = self.glossary.method.0.find(MIXED).unwrap_or(0);
        let (rules, period_end) = (self.rules(), self.period.end);
        let folder = store.work_folder();
        let is_whole = self.work.is_whole();
        let start = || {
            Ok(Passing {
                run: self,
                with: self.tallying(),
                counts: self.no_counts(),
                halves: Spill::new(&folder, self.spread.matings())?,
                failure: None,
                candidates: FxHashMap::default(),
                waiting: WaitingSpill::new(Some(folder.as_path()).filter(|_| !is_whole))?,
                for_tickets: (!is_whole)
                    .then(|| ForTickets::new(&folder, self.spread))
                    .transpose()?,
                replaced: Vec::new(),
                visits: VisitSpill::new(&folder, places)?,
                meeting: Meeting::default(),
            })
        };
        let passed = self.threads(self.scanned.events.count(), start, |worker, bucket| {
            let named = match is_whole {
                true => Cow::Borrowed(self.named),
                false => Cow::Owned(self.named.of_rows(&self.names.named.read(bucket)?)),
            };
            let around = Surroundings { rules, mixed, named: &named, period_end };
            let events = &self.scanned.events;
            if events.len(bucket) > LARGE {
                // Most of it is one end face, and no other task could share it.
                read_ordered(&order_in_place(events.read_with_room(bucket, 2)?), &around, worker);
            } else {
                read_bucket(&events.read(bucket)?, &around, worker);
            }
            worker.failure.take().map_or(Ok(()), Err)
        })?;
        let (mut counts, mut halves) = (self.no_counts(), Vec::new());
        let (mut candidates, mut wanted, mut asked) = (Vec::new(), Vec::new(), Vec::new());
        let (mut all, mut rows) = (Passed::default(), PassedRows::default());
        for worker in passed {
            counts = counts.merge(worker.counts);
            halves.push(worker.halves.finish()?);
            rows.visits.append(worker.visits.finish()?);
            rows.waiting.append(worker.waiting.finish()?);
            if let Some(rows) = worker.for_tickets {
                candidates.push(rows.candidates.finish()?);
                wanted.push(rows.wanted.finish()?);
                asked.push(rows.asked.finish()?);
            }
            rows.candidates.extend(worker.candidates);
            let Passing { replaced, meeting, .. } = worker;
            all = all.merge(Passed { replaced, meeting });
        }
        Ok((
            all,
            Some(counts),
            PassedRows {
                halves: Buckets::join(halves),
                candidate_rows: Buckets::join(candidates),
                wanted: Buckets::join(wanted),
                asked: Buckets::join(asked),
                ..rows
            },
        ))
    }
}
