//! The count: facts of the passes, site by site, become counts. Tables are closed after each bucket, so that
//! the cells that lie open are one bucket's.

use std::sync::Arc;

use super::bucketwise::Run;
use super::carriers::Trials;
use crate::derive::DeriveError;
use crate::derive::compared::compared_quarters;
use crate::derive::counts::{
    Counts, ForceTally, OrderTrials, OtherRules, Pieces, tally_mating, tally_touch, tally_visit,
};
use crate::derive::face::visit::Visit;
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::{MatingBuckets, VisitBuckets};
use crate::derive::mating::fault::Faults;
use crate::derive::mating::follow_up::Following;
use crate::store::Store;

/// What the passes wrote.
#[derive(Default)]
pub(super) struct Facts {
    /// Visits.
    pub(super) visits: VisitBuckets,
    /// Matings and touches, by writer.
    pub(super) matings: Vec<MatingBuckets>,
}

impl Run<'_> {
    /// The buckets that facts go to.
    pub(super) fn places(&self) -> Arc<Places> {
        Arc::new(Places::of(&self.scanned.facts, self.calendar))
    }

    /// Counts what was written.
    pub(super) fn count_facts(
        &self,
        facts: &Facts,
        places: &Places,
        (faults, following): (&Faults, &Following),
        trials: &mut Trials,
        store: &Store,
    ) -> Result<Counts, DeriveError> {
        let pieces = Pieces::of(self.calendar, &compared_quarters(self.period));
        let (with, folder) = (self.tallying(), store.work_folder());
        let start = || {
            let orders = OrderTrials::new(&folder, self.spread)?;
            let apart = (ForceTally::new(&pieces), OtherRules::of(self.rules()));
            Ok((self.no_counts(), apart, orders, Visit::nothing()))
        };
        let done = self.threads(places.count(), start, |worker, bucket| {
            let (counts, (weeks, others), orders, visit) = worker;
            facts.visits.read(bucket, visit, |visit| tally_visit(visit, &with, counts, orders))?;
            for (matings, touches) in &facts.matings {
                for fact in matings.read(bucket)? {
                    let mating = fact.read(faults, self.rules());
                    tally_mating(&mating, following, others, counts);
                    weeks.add(&mating, following);
                }
                for touch in touches.read(bucket)? {
                    tally_touch(&touch, &mut counts.carriers, orders);
                }
            }
            weeks.pour(&mut counts.rates.force_weeks);
            others.pour(&mut counts.followed.variants);
            counts.close();
            counts.give_up_beyond_limits();
            Ok(())
        })?;
        let mut counts = self.no_counts();
        for (counted, _, orders, _) in done {
            counts = counts.merge(counted);
            trials.orders.push(orders.finish()?);
        }
        Ok(counts)
    }
}
