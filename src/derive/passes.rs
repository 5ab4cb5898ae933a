//! Runs the passes over the buckets, several threads at a time, and adds up what they count.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

use rustc_hash::{FxHashMap, FxHashSet};

use super::DeriveError;
use super::calendar::{Calendar, Quarter};
use super::counts::Counts;
use super::cover::{Covers, Evidence, covers};
use super::day::Days;
use super::event::{Event, Half, NO_MATING};
use super::face::{FaceSink, Surroundings, read_bucket};
use super::fault::{Clues, Faults, wanted};
use super::mating::{Mating, Setting};
use super::names::{Glossary, Lists, MIXED};
use super::pair::{Pair, join};
use super::period::Period;
use super::read_tickets::read_tickets;
use super::scan::{Precision, Scanned, Spread, scan};
use super::tally::{MOST_WORK_ORDERS, Tallying, tally_unreadable, tally_visit};
use super::tally_mating::{Following, tally_fault, tally_mating};
use super::ticket::{Named, Ticket};
use super::visit::Visit;
use crate::records::Table;
use crate::settings::{Plan, Rules};
use crate::store::{Buckets, Progress, Spill, Store};

/// What a derivation hands on.
pub struct Derived {
    pub counts: Counts,
    pub glossary: Glossary,
    pub calendar: Calendar,
    pub period: Period,
    /// Sites whose faults are known over a span that rests on a default.
    pub guessed_cover: Vec<String>,
    /// Fault sources without a fault: they cover nothing.
    pub empty_fault_sources: Vec<String>,
    pub precision: Precision,
    /// Tickets whose mating record was ambiguous.
    pub ambiguous: u64,
    /// The sums of 5.1's clusters go by site-day, since there were too many work orders.
    pub by_site_day: bool,
}

/// Sees every visit and mating as it is counted. For tests and tools; the review needs none.
pub trait Witness: Sync {
    fn visit(&self, _visit: &Visit) {}
    fn mating(&self, _mating: &Mating) {}
}

impl Witness for () {}

/// Derives the counts of one period from the store.
///
/// # Errors
/// A damaged store, an empty one, a period without records, counts that do not add up.
pub fn derive(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    progress: &dyn Progress,
) -> Result<Derived, DeriveError> {
    derive_with(plan, store, asked, progress, &())
}

/// As [`derive`], with a witness.
///
/// # Errors
/// As [`derive`].
pub fn derive_with(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    progress: &dyn Progress,
    witness: &dyn Witness,
) -> Result<Derived, DeriveError> {
    let threads = rayon::current_num_threads();
    let lists = Lists::of(plan);
    let mut tickets = read_tickets(plan, store, &lists)?;
    let named = Named::of_tickets(&tickets);
    let (scanned, spread) = scan(plan, store, &lists, &tickets, &named, threads)?;
    let glossary = Glossary::close(lists, plan);
    let span = scanned.facts.span.ok_or(DeriveError::Empty)?;
    let as_of = plan.fleet.as_of.or(store.first_intake());
    let as_of = as_of.unwrap_or_else(|| super::calendar::local_day(span.1, plan.fleet.timezone));
    let (period, calendar) = Period::choose(plan, asked, as_of, span)?;
    let covers = covers(&Evidence {
        plan,
        places: &source_places(store),
        tickets: &tickets,
        facts: &scanned.facts,
        sites: &glossary.site.0,
        as_of,
    });
    // Faults opened after the period's end are not read; tickets come in order of opening.
    tickets.truncate(tickets.partition_point(|ticket| ticket.opened < period.end));
    let run = Run {
        plan,
        scanned: &scanned,
        spread,
        named: &named,
        glossary: &glossary,
        calendar: &calendar,
        period: &period,
        progress,
        witness,
        threads,
    };
    progress.expect(scanned.events.count() as u64 + 2 * scanned.matings.count() as u64);
    let one = run.pass_one(store)?;
    let faults = run.attach(tickets, &one)?;
    let mut counts = run.deferred(one.deferred, &faults, one.counts);
    counts = run.pass_two(&one.halves, &covers, &faults, counts)?;
    run.months(&mut counts);
    let by_site_day = counts.work_orders.len() > MOST_WORK_ORDERS;
    if by_site_day {
        counts.work_orders.clear();
    }
    counts.check()?;
    Ok(Derived {
        guessed_cover: guessed(&covers, &scanned, &glossary),
        empty_fault_sources: covers.empty_fault_sources,
        precision: scanned.precision,
        ambiguous: faults.ambiguous,
        by_site_day,
        counts,
        glossary,
        calendar,
        period,
    })
}

/// Sources of the store by name, with their places.
fn source_places(store: &Store) -> BTreeMap<String, u16> {
    let parts = Table::ALL.into_iter().flat_map(|table| store.parts(table));
    parts.map(|part| (part.source, part.source_index as u16)).collect()
}

fn guessed(covers: &Covers, scanned: &Scanned, glossary: &Glossary) -> Vec<String> {
    let sites = scanned
        .facts
        .sites
        .iter()
        .filter(|site| covers.faults(**site).is_some_and(|cover| cover.guessed));
    let mut names: Vec<String> = sites.map(|site| glossary.site.0.word(*site).to_owned()).collect();
    names.sort();
    names
}

struct Run<'a> {
    plan: &'a Plan,
    scanned: &'a Scanned,
    spread: Spread,
    named: &'a Named,
    glossary: &'a Glossary,
    calendar: &'a Calendar,
    period: &'a Period,
    progress: &'a dyn Progress,
    witness: &'a dyn Witness,
    threads: usize,
}

/// What pass one leaves.
struct PassOne {
    counts: Counts,
    halves: Buckets<Half>,
    candidates: FxHashMap<u32, [u64; 3]>,
    /// Visits that a fault may have prompted: counted once faults are attached.
    deferred: Vec<Visit>,
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
}

impl FaceSink for Passing<'_> {
    fn visit(&mut self, visit: Visit) {
        let touched = self.run.scanned.touched.contains(&visit.last_mating);
        if touched || self.run.named.of(visit.key).is_some() {
            self.deferred.push(visit);
        } else {
            self.run.witness.visit(&visit);
            tally_visit(&visit, &self.with, &mut self.counts);
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
        tally_unreadable(look, &self.with, &mut self.counts);
    }
}

impl Run<'_> {
    fn tallying(&self) -> Tallying<'_> {
        let period = self.calendar.piece_of(self.period.quarter).unwrap_or(0);
        Tallying { calendar: self.calendar, period }
    }

    fn rules(&self) -> &Rules {
        &self.plan.rules
    }

    /// Runs `work` on every thread, each with what `start` makes, bucket by bucket.
    fn threads<T: Send>(
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

    fn pass_one(&self, store: &Store) -> Result<PassOne, DeriveError> {
        let mixed = self.glossary.method.0.find(MIXED).unwrap_or(0);
        let around = Surroundings { rules: self.rules(), mixed, named: self.named };
        let folder = store.work_folder();
        let start = || {
            Ok(Passing {
                run: self,
                with: self.tallying(),
                counts: Counts::empty(),
                halves: Spill::new(&folder, self.scanned.matings.count())?,
                failure: None,
                candidates: FxHashMap::default(),
                deferred: Vec::new(),
            })
        };
        let passed = self.threads(self.scanned.events.count(), start, |own, bucket| {
            read_bucket(&self.scanned.events.read(bucket)?, &around, own);
            own.failure.take().map_or(Ok(()), Err)
        })?;
        let (mut counts, mut halves) = (Counts::empty(), Vec::new());
        let (mut candidates, mut deferred) = (FxHashMap::default(), Vec::new());
        for own in passed {
            counts = counts.merge(own.counts);
            halves.push(own.halves.finish()?);
            candidates.extend(own.candidates);
            deferred.extend(own.deferred);
        }
        Ok(PassOne { counts, halves: Buckets::join(halves), candidates, deferred })
    }

    fn pairs(&self, halves: &Buckets<Half>, bucket: usize) -> Result<Vec<Pair>, DeriveError> {
        let first = bucket as u64 * self.scanned.matings_per_bucket;
        Ok(join(first, &self.scanned.matings.read(bucket)?, &halves.read(bucket)?))
    }

    /// Joins the matings that tickets may belong to, then attaches and merges the tickets.
    fn attach(&self, tickets: Vec<Ticket>, one: &PassOne) -> Result<Faults, DeriveError> {
        let hits = &self.scanned.hits;
        let wanted: FxHashSet<u64> = wanted(&tickets, hits, &one.candidates);
        let buckets = self.scanned.matings.count();
        let found = self.threads(
            buckets,
            || Ok(FxHashMap::default()),
            |own, bucket| {
                if wanted.is_empty() || self.scanned.matings.is_empty(bucket) {
                    return Ok(());
                }
                let pairs = self.pairs(&one.halves, bucket)?.into_iter();
                let kept = pairs.filter(|pair| wanted.contains(&pair.row.number));
                own.extend(kept.map(|pair| (pair.row.number, pair)));
                Ok(())
            },
        )?;
        let pairs = found.into_iter().flatten().collect();
        let clues = Clues { hits, candidates: &one.candidates, pairs: &pairs };
        Ok(Faults::of(tickets, &clues, self.rules()))
    }

    fn deferred(&self, visits: Vec<Visit>, faults: &Faults, mut counts: Counts) -> Counts {
        let with = self.tallying();
        for mut visit in visits {
            visit.prompted = faults.prompted(&visit, self.rules());
            self.witness.visit(&visit);
            tally_visit(&visit, &with, &mut counts);
        }
        counts
    }

    fn pass_two(
        &self,
        halves: &Buckets<Half>,
        covers: &Covers,
        faults: &Faults,
        counts: Counts,
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
        let following = Following::new(self.rules(), dark, self.calendar, self.period.end);
        let start = || Ok((Counts::empty(), Days::of(self.plan.fleet.timezone)));
        let done =
            self.threads(self.scanned.matings.count(), start, |(counts, days), bucket| {
                if self.scanned.matings.is_empty(bucket) {
                    return Ok(());
                }
                for pair in self.pairs(halves, bucket)? {
                    let mating = setting.describe(&pair, days);
                    self.witness.mating(&mating);
                    tally_mating(&mating, &following, counts);
                }
                Ok(())
            })?;
        let mut counts = done.into_iter().fold(counts, |counts, (own, _)| counts.merge(own));
        for fault in faults.all().iter().filter(|fault| fault.mating == NO_MATING) {
            tally_fault(fault, fault.found_stage, 0, &following, &mut counts);
        }
        Ok(counts)
    }

    fn months(&self, counts: &mut Counts) {
        for ((site, month), rows) in self.scanned.facts.by_month() {
            let cell = self.calendar.month_piece(month).map(|month| [month, site]);
            let row = [rows.looks, rows.cleanings, rows.matings].map(|rows| rows as i64);
            counts.site_months.add(cell, row);
        }
    }
}
