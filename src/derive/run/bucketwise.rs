//! What the passes of one derivation work with, and how they go through buckets, several at a time.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::at_hand::TicketRows;
use crate::calendar::Calendar;
use crate::derive::DeriveError;
use crate::derive::counts::{Counts, Tallying};
use crate::derive::face::event::{Half, MatingRow};
use crate::derive::mating::named::Named;
use crate::derive::mating::pair::{Pair, join};
use crate::derive::period::Period;
use crate::derive::scan::names::Glossary;
use crate::derive::scan::read_once::Scanned;
use crate::derive::scan::spread::Spread;
use crate::derive::share::work::Work;
use crate::derive::witness::Witness;
use crate::settings::{Plan, Rules};
use crate::store::{Buckets, Progress};

/// What the passes of one derivation work with.
pub struct Run<'a> {
    /// The settings.
    pub plan: &'a Plan,
    /// What the scan left.
    pub scanned: &'a Scanned,
    /// How records are spread over buckets.
    pub spread: Spread,
    /// Tickets that name an end face.
    pub named: &'a Named,
    /// Tickets as rows, where they are not all at hand.
    pub names: &'a TicketRows,
    /// The words behind the codes.
    pub glossary: &'a Glossary,
    /// The fleet's calendar.
    pub calendar: &'a Calendar,
    /// What is reviewed.
    pub period: &'a Period,
    /// Who is told of buckets done.
    pub progress: &'a dyn Progress,
    /// Who looks on.
    pub witness: &'a dyn Witness,
    /// How much of it is computed here.
    pub work: &'a Work,
    /// How many work at a time.
    pub threads: usize,
}

impl Run<'_> {
    /// What visits and exposures are counted with.
    pub(super) fn tallying(&self) -> Tallying<'_> {
        let period = self.calendar.piece_of(self.period.quarter).unwrap_or(0);
        let first = self.period.look_back.iter().min();
        let look_back = first.and_then(|quarter| self.calendar.piece_of(*quarter)).unwrap_or(0);
        Tallying { calendar: self.calendar, period, look_back, by_month: self.by_month() }
    }

    /// Whether months are counted by place, since the settings name an action.
    pub(super) fn by_month(&self) -> bool {
        !self.plan.actions.is_empty()
    }

    /// The rules of the settings.
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
                let mut worker = start()?;
                loop {
                    let bucket = next.fetch_add(1, Ordering::Relaxed);
                    if bucket >= buckets {
                        return Ok(worker);
                    }
                    work(&mut worker, bucket)?;
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
    pub(super) fn no_counts(&self) -> Counts {
        Counts::empty(self.rules().worklist_rows as usize)
    }

    /// The matings of a bucket, joined with the halves of their ends.
    pub(super) fn pairs(
        &self,
        halves: &Buckets<Half>,
        bucket: usize,
    ) -> Result<Vec<Pair>, DeriveError> {
        Ok(self.joined(bucket, &self.scanned.matings.read(bucket)?, &halves.read(bucket)?))
    }

    /// Matings of a bucket, joined with those of the halves that are theirs.
    pub(super) fn joined(&self, bucket: usize, rows: &[MatingRow], halves: &[Half]) -> Vec<Pair> {
        join(bucket as u64 * self.scanned.matings_per_bucket, rows, halves)
    }
}
