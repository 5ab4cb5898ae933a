//! Pass one, by end face: visits are counted, halves of matings handed on.

use std::sync::Arc;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::bucketwise::Run;
use super::counting::Facts;
use crate::derive::DeriveError;
use crate::derive::counts::{
    Counts, Tallying, tally_end_face, tally_look, tally_look_pair, tally_mated_end,
};
use crate::derive::face::agreement::LookPair;
use crate::derive::face::apart::{Apart, Meeting};
use crate::derive::face::end_face::{FaceSink, read_bucket};
use crate::derive::face::event::{Event, Half};
use crate::derive::face::left_failing::LeftFailing;
use crate::derive::face::surroundings::Surroundings;
use crate::derive::face::visit::Visit;
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::{VisitBuckets, VisitSpill};
use crate::derive::scan::names::MIXED;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::stage::{Kind, Stage};
use crate::derive::share::states::State;
use crate::derive::share::work::{Spilled, Stepped};
use crate::store::{Buckets, Spill, Store};

/// What pass one leaves.
pub(super) struct PassOne {
    /// What was counted of looks and end faces.
    pub(super) counts: Counts,
    /// Ends of matings, in the bucket of their mating.
    pub(super) halves: Buckets<Half>,
    /// By ticket that names an end face: the end face's last three matings, the latest first.
    pub(super) candidates: FxHashMap<u32, [u64; 3]>,
    /// Visits that a fault may have prompted: counted once faults are attached.
    pub(super) deferred: Vec<Visit>,
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
    candidates: FxHashMap<u32, [u64; 3]>,
    deferred: Vec<Visit>,
    replaced: Vec<u64>,
    meeting: Meeting,
}

impl State for Passed {
    fn merge(mut self, other: Passed) -> Passed {
        self.candidates.extend(other.candidates);
        self.deferred.extend(other.deferred);
        self.replaced.resize(other.replaced.len().max(self.replaced.len()), 0);
        self.replaced.iter_mut().zip(other.replaced).for_each(|(sum, more)| *sum += more);
        Passed { meeting: self.meeting.merge(other.meeting), ..self }
    }
}

/// The rows that pass one makes.
struct PassedRows {
    halves: Buckets<Half>,
    visits: VisitBuckets,
}

impl Default for PassedRows {
    fn default() -> PassedRows {
        PassedRows { halves: Buckets::join([]), visits: VisitBuckets::default() }
    }
}

impl Spilled for PassedRows {
    fn handed(input: &Input) -> Result<PassedRows, DeriveError> {
        Ok(PassedRows { halves: input.take(Kind::Halves)?, visits: VisitBuckets::handed(input)? })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        output.rows(Kind::Halves, &self.halves)?;
        self.visits.hand_on(output)
    }
}

/// One thread of pass one.
struct Passing<'a> {
    run: &'a Run<'a>,
    with: Tallying<'a>,
    counts: Counts,
    halves: Spill<Half>,
    failure: Option<DeriveError>,
    candidates: FxHashMap<u32, [u64; 3]>,
    deferred: Vec<Visit>,
    replaced: Vec<u64>,
    visits: VisitSpill,
    meeting: Meeting,
}

impl FaceSink for Passing<'_> {
    fn visit(&mut self, visit: Visit) {
        let (run, named) = (self.run, self.run.named);
        let may_be_prompted = run.scanned.touched.contains(&visit.last_mating)
            || named.of(visit.key).is_some()
            || named.has_order(visit.site, visit.work_order);
        if may_be_prompted {
            self.deferred.push(visit);
        } else {
            self.run.witness.visit(&visit);
            if let Err(error) = self.visits.push(&visit) {
                self.failure.get_or_insert(error);
            }
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

    fn candidates(&mut self, ticket: u32, matings: [u64; 3]) {
        self.candidates.insert(ticket, matings);
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
        let (passed, counts, PassedRows { halves, visits }) = stepped;
        let Passed { candidates, deferred, replaced, meeting } = passed;
        let counts = counts.unwrap_or_else(|| self.no_counts());
        let facts = Facts { visits, ..Facts::default() };
        let apart = meeting.apart(self.rules());
        Ok(PassOne { counts, halves, candidates, deferred, replaced, facts, apart })
    }

    fn passed(
        &self,
        store: &Store,
        places: &Arc<Places>,
    ) -> Result<Stepped<Passed, PassedRows>, DeriveError> {
        let mixed = self.glossary.method.0.find(MIXED).unwrap_or(0);
        let (rules, named, period_end) = (self.rules(), self.named, self.period.end);
        let around = Surroundings { rules, mixed, named, period_end };
        let folder = store.work_folder();
        let start = || {
            Ok(Passing {
                run: self,
                with: self.tallying(),
                counts: self.no_counts(),
                halves: Spill::new(&folder, self.spread.matings())?,
                failure: None,
                candidates: FxHashMap::default(),
                deferred: Vec::new(),
                replaced: Vec::new(),
                visits: VisitSpill::new(&folder, places)?,
                meeting: Meeting::default(),
            })
        };
        let passed = self.threads(self.scanned.events.count(), start, |worker, bucket| {
            read_bucket(&self.scanned.events.read(bucket)?, &around, worker);
            worker.failure.take().map_or(Ok(()), Err)
        })?;
        let (mut counts, mut halves) = (self.no_counts(), Vec::new());
        let (mut all, mut visits) = (Passed::default(), VisitBuckets::default());
        for worker in passed {
            counts = counts.merge(worker.counts);
            halves.push(worker.halves.finish()?);
            visits.append(worker.visits.finish()?);
            let Passing { candidates, deferred, replaced, meeting, .. } = worker;
            all = all.merge(Passed { candidates, deferred, replaced, meeting });
        }
        Ok((all, Some(counts), PassedRows { halves: Buckets::join(halves), visits }))
    }
}
