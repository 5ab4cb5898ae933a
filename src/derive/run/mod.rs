//! The passes over the buckets, several threads at a time, and the sums of what they count.

pub mod carriers;
pub mod faults;

use std::sync::atomic::{AtomicUsize, Ordering};

use rustc_hash::FxHashMap;

use crate::derive::DeriveError;
use crate::derive::calendar::compared::compared_quarters;
use crate::derive::calendar::day::Days;
use crate::derive::calendar::period::Period;
use crate::derive::calendar::pieces::Calendar;
use crate::derive::counts::{
    Counts, ForceTally, OtherRule, Pieces, Tallying, TrialSpills, tally_exposure, tally_fault,
    tally_mating, tally_months, tally_unreadable, tally_visit,
};
use crate::derive::face::end_face::{FaceSink, Surroundings, read_bucket};
use crate::derive::face::event::{Event, Half, NO_MATING};
use crate::derive::face::left_failing::LeftFailing;
use crate::derive::face::visit::Visit;
use crate::derive::mating::describe::Setting;
use crate::derive::mating::exposure::exposures;
use crate::derive::mating::fault::Faults;
use crate::derive::mating::follow_up::Following;
use crate::derive::mating::pair::{Pair, join};
use crate::derive::mating::ticket::{Named, Ticket};
use crate::derive::mating::unseen::unseen_mating;
use crate::derive::passes::Witness;
use crate::derive::run::carriers::{Prompted, Trials};
use crate::derive::scan::cover::Covers;
use crate::derive::scan::names::{Glossary, MIXED};
use crate::derive::scan::read_once::{Scanned, Spread};
use crate::settings::{Plan, Rules};
use crate::store::{Buckets, Progress, Spill, Store};

/// What the passes of one derivation work with.
pub struct Run<'a> {
    pub plan: &'a Plan,
    pub scanned: &'a Scanned,
    pub spread: Spread,
    pub named: &'a Named,
    pub glossary: &'a Glossary,
    pub calendar: &'a Calendar,
    pub period: &'a Period,
    pub progress: &'a dyn Progress,
    pub witness: &'a dyn Witness,
    pub threads: usize,
}

/// What pass one leaves.
pub(super) struct PassOne {
    pub(super) counts: Counts,
    pub(super) halves: Buckets<Half>,
    pub(super) candidates: FxHashMap<u32, [u64; 3]>,
    /// Visits that a fault may have prompted: counted once faults are attached.
    pub(super) deferred: Vec<Visit>,
    pub(super) trials: Trials,
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
    trials: TrialSpills,
}

impl FaceSink for Passing<'_> {
    fn visit(&mut self, visit: Visit) {
        let touched = self.run.scanned.touched.contains(&visit.last_mating);
        if touched || self.run.named.of(visit.key).is_some() {
            self.deferred.push(visit);
        } else {
            self.run.witness.visit(&visit);
            tally_visit(&visit, &self.with, &mut self.counts, &mut self.trials);
        }
    }

    fn half(&mut self, half: Half) {
        let bucket = self.run.spread.mating(half.mating);
        if let Err(error) = self.halves.push(bucket, &half) {
            self.failure.get_or_insert(error.into());
        }
    }

    fn candidates(&mut self, ticket: u32, matings: [u64; 3]) {
        self.candidates.insert(ticket, matings);
    }

    fn conflict(&mut self) {
        self.counts.conflicts += 1;
    }

    fn unreadable(&mut self, look: &Event) {
        tally_unreadable(look, &self.with, &mut self.counts.first_pass);
    }

    fn left_failing(&mut self, left: LeftFailing) {
        self.counts.worklist.left.add(left.cell(), left);
    }
}

impl Run<'_> {
    /// Runs the passes; also tells how many tickets named an ambiguous mating record.
    ///
    /// # Errors
    /// A damaged store or a full disk.
    pub fn count(
        &self,
        store: &Store,
        tickets: Vec<Ticket>,
        covers: &Covers,
    ) -> Result<(Counts, u64), DeriveError> {
        // Events, and of as many buckets work orders and end faces; matings thrice.
        let buckets = 3 * (self.scanned.events.count() + self.scanned.matings.count());
        self.progress.expect(buckets as u64);
        let mut one = self.pass_one(store)?;
        let faults = self.attach(tickets, &one)?;
        let deferred = std::mem::take(&mut one.deferred);
        let prompted = self.deferred(deferred, &faults, &mut one, store)?;
        let mut counts = self.pass_two(&mut one, covers, &faults, &prompted, store)?;
        counts.carriers = self.carriers(one.trials, &one.halves, &prompted, counts.carriers)?;
        tally_months(&self.scanned.facts, self.calendar, &mut counts.coverage);
        Ok((counts, faults.ambiguous))
    }

    pub(super) fn tallying(&self) -> Tallying<'_> {
        let period = self.calendar.piece_of(self.period.quarter).unwrap_or(0);
        let first = self.period.look_back.iter().min();
        let look_back = first.and_then(|quarter| self.calendar.piece_of(*quarter)).unwrap_or(0);
        Tallying { calendar: self.calendar, period, look_back }
    }

    pub(super) fn rules(&self) -> &Rules {
        &self.plan.rules
    }

    /// Runs `work` on every thread, each with what `start` makes, bucket by bucket.
    pub(super) fn threads<T: Send>(
        &self,
        buckets: usize,
        start: impl Fn() -> Result<T, DeriveError> + Sync,
        work: impl Fn(&mut T, usize) -> Result<(), DeriveError> + Sync,
    ) -> Result<Vec<T>, DeriveError> {
        let next = AtomicUsize::new(0);
        std::thread::scope(|scope| {
            let body = || {
                let mut own = start()?;
                loop {
                    let bucket = next.fetch_add(1, Ordering::Relaxed);
                    if bucket >= buckets {
                        return Ok(own);
                    }
                    work(&mut own, bucket)?;
                    self.progress.passed(1);
                }
            };
            let threads: Vec<_> = (0..self.threads.max(1)).map(|_| scope.spawn(body)).collect();
            threads
                .into_iter()
                .map(|thread| thread.join().unwrap_or(Err(DeriveError::Thread)))
                .collect()
        })
    }

    /// Counts of nothing yet.
    fn no_counts(&self) -> Counts {
        Counts::empty(self.rules().worklist_rows as usize)
    }

    fn pass_one(&self, store: &Store) -> Result<PassOne, DeriveError> {
        let mixed = self.glossary.method.0.find(MIXED).unwrap_or(0);
        let (rules, named, period_end) = (self.rules(), self.named, self.period.end);
        let around = Surroundings { rules, mixed, named, period_end };
        let folder = store.work_folder();
        let start = || {
            Ok(Passing {
                run: self,
                with: self.tallying(),
                counts: self.no_counts(),
                halves: Spill::new(&folder, self.scanned.matings.count())?,
                failure: None,
                candidates: FxHashMap::default(),
                deferred: Vec::new(),
                trials: TrialSpills::new(&folder, self.spread)?,
            })
        };
        let passed = self.threads(self.scanned.events.count(), start, |own, bucket| {
            read_bucket(&self.scanned.events.read(bucket)?, &around, own);
            own.failure.take().map_or(Ok(()), Err)
        })?;
        let (mut counts, mut halves) = (self.no_counts(), Vec::new());
        let (mut candidates, mut deferred) = (FxHashMap::default(), Vec::new());
        let mut trials = Trials::default();
        for own in passed {
            counts = counts.merge(own.counts);
            halves.push(own.halves.finish()?);
            candidates.extend(own.candidates);
            deferred.extend(own.deferred);
            trials.add(own.trials)?;
        }
        Ok(PassOne { counts, halves: Buckets::join(halves), candidates, deferred, trials })
    }

    pub(super) fn pairs(
        &self,
        halves: &Buckets<Half>,
        bucket: usize,
    ) -> Result<Vec<Pair>, DeriveError> {
        let first = bucket as u64 * self.scanned.matings_per_bucket;
        Ok(join(first, &self.scanned.matings.read(bucket)?, &halves.read(bucket)?))
    }

    fn pass_two(
        &self,
        one: &mut PassOne,
        covers: &Covers,
        faults: &Faults,
        prompted: &Prompted,
        store: &Store,
    ) -> Result<Counts, DeriveError> {
        let setting = Setting {
            rules: self.rules(),
            covers,
            facts: &self.scanned.facts,
            faults,
            period_end: self.period.end,
        };
        let dark: Vec<bool> = self
            .glossary
            .stage
            .0
            .words()
            .iter()
            .map(|stage| self.plan.stages.dark.contains(stage))
            .collect();
        let quarters = 0..self.calendar.quarters.count();
        let looked_back = quarters
            .map(|piece| self.period.look_back.contains(&self.calendar.quarter(piece)))
            .collect();
        let (rules, calendar, end) = (self.rules(), self.calendar, self.period.end);
        let following = Following::new(rules, dark, calendar, end, looked_back);
        let variants = OtherRule::of(rules);
        let pieces = Pieces::of(self.calendar, &compared_quarters(self.period));
        let (with, folder) = (self.tallying(), store.work_folder());
        let start = || {
            let trials = TrialSpills::new(&folder, self.spread)?;
            let days = Days::of(self.plan.fleet.timezone);
            Ok((self.no_counts(), days, ForceTally::new(&pieces), trials))
        };
        let done = self.threads(self.scanned.matings.count(), start, |own, bucket| {
            let (counts, days, weeks, trials) = own;
            if self.scanned.matings.is_empty(bucket) {
                return Ok(());
            }
            for pair in self.pairs(&one.halves, bucket)? {
                let mating = setting.describe(&pair, days);
                self.witness.mating(&mating);
                tally_mating(&mating, &following, &variants, counts);
                weeks.add(&mating, &following);
                if let Some(unseen) = unseen_mating(&pair, &mating, &following) {
                    counts.worklist.unseen.add(unseen.cell(), unseen);
                }
                let exposed = exposures(&pair, prompted, self.period.end);
                for exposure in exposed.into_iter().flatten() {
                    self.witness.exposure(&exposure);
                    tally_exposure(&exposure, &with, &mut counts.carriers, trials);
                }
            }
            Ok(())
        })?;
        let mut counts = std::mem::replace(&mut one.counts, self.no_counts());
        for (own, _, weeks, trials) in done {
            counts = counts.merge(own);
            weeks.pour(&mut counts.rates.force_weeks);
            one.trials.add(trials)?;
        }
        for fault in faults.all().iter().filter(|fault| fault.mating == NO_MATING) {
            tally_fault(fault, (fault.found_stage, 0), &following, &mut counts);
        }
        Ok(counts)
    }
}
