//! Between the passes: tickets find their matings, and the visits that waited for that are counted.

use rustc_hash::{FxHashMap, FxHashSet};

use super::bucketwise::Run;
use super::carriers::Prompted;
use super::pass_one::PassOne;
use crate::derive::DeriveError;
use crate::derive::counts::{TrialSpills, tally_visit};
use crate::derive::face::visit::Visit;
use crate::derive::mating::fault::{Clues, Faults, InForce, wanted};
use crate::derive::mating::ticket::Ticket;
use crate::store::Store;

impl Run<'_> {
    /// Joins the matings that tickets may belong to, then attaches and merges the tickets.
    pub(super) fn attach(
        &self,
        tickets: Vec<Ticket>,
        one: &PassOne,
    ) -> Result<Faults, DeriveError> {
        let hits = &self.scanned.hits;
        let wanted: FxHashSet<u64> = wanted(&tickets, hits, &one.candidates);
        let buckets = self.scanned.matings.count();
        let found = self.threads(
            buckets,
            || Ok(FxHashMap::default()),
            |worker, bucket| {
                if wanted.is_empty() || self.scanned.matings.is_empty(bucket) {
                    return Ok(());
                }
                let pairs = self.pairs(&one.halves, bucket)?.into_iter();
                let kept = pairs.filter(|pair| wanted.contains(&pair.row.number));
                worker.extend(kept.map(|pair| (pair.row.number, InForce::of(&pair))));
                Ok(())
            },
        )?;
        let matings = found.into_iter().flatten().collect();
        let clues = Clues { hits, candidates: &one.candidates, matings: &matings };
        Ok(Faults::of(tickets, &clues, self.rules()))
    }

    /// Counts the visits that waited for the faults; which of them tell how an end came out of its
    /// mating, but were prompted.
    pub(super) fn deferred(
        &self,
        visits: Vec<Visit>,
        faults: &Faults,
        one: &mut PassOne,
        store: &Store,
    ) -> Result<Prompted, DeriveError> {
        let (with, mut prompted) = (self.tallying(), Prompted::default());
        let mut trials = TrialSpills::new(&store.work_folder(), self.spread)?;
        for mut visit in visits {
            visit.prompted = faults.prompted(&visit, self.rules());
            self.witness.visit(&visit);
            tally_visit(&visit, &with, &mut one.counts, &mut trials);
            if visit.prompted && visit.first_since_mating {
                prompted.insert((visit.last_mating, visit.key));
            }
        }
        one.trials.add(trials)?;
        Ok(prompted)
    }
}
