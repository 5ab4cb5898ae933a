//! The count: facts of the passes, site by site, become counts. Tables are closed after each bucket, so that
//! the cells that lie open are one bucket's.

use std::borrow::Cow;
use std::sync::Arc;

use super::at_hand::AtHand;
use super::bucketwise::Run;
use super::carriers::Trials;
use crate::derive::DeriveError;
use crate::derive::carriers::trial::OrderTrial;
use crate::derive::compared::compared_quarters;
use crate::derive::counts::{
    Counts, ForceTally, OrderTrials, OtherRules, Pieces, tally_mating, tally_touch, tally_visit,
};
use crate::derive::face::visit::Visit;
use crate::derive::facts::fault::{FaultRow, faults_of};
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::{MatingBuckets, VisitBuckets};
use crate::derive::mating::fault::Faults;
use crate::derive::mating::follow_up::Following;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::stage::{Kind, Stage};
use crate::derive::share::work::{Spilled, Stepped};
use crate::store::{Buckets, Store};

/// What the passes wrote.
#[derive(Default)]
pub(super) struct Facts {
    /// Visits.
    pub(super) visits: VisitBuckets,
    /// Matings and touches, by writer.
    pub(super) matings: Vec<MatingBuckets>,
    /// Where tickets are not at hand: the faults of the matings, by writer.
    pub(super) faults: Vec<Buckets<FaultRow>>,
}

impl Facts {
    /// The faults of the matings of a bucket, and more where all are at hand.
    fn faults<'a>(
        &self,
        at_hand: &'a AtHand,
        bucket: usize,
    ) -> Result<Cow<'a, Faults>, DeriveError> {
        if let AtHand::Here(faults, _) = at_hand {
            return Ok(Cow::Borrowed(faults));
        }
        let mut rows = Vec::new();
        for faults in &self.faults {
            rows.extend(faults.read(bucket)?);
        }
        Ok(Cow::Owned(faults_of(rows)?))
    }
}

/// The rows that the count makes, by writer.
#[derive(Default)]
struct CountedRows(Vec<Buckets<OrderTrial>>);

impl Spilled for CountedRows {
    fn handed(input: &Input) -> Result<CountedRows, DeriveError> {
        Ok(CountedRows(vec![input.take(Kind::OrderTrials)?]))
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        self.0.iter().try_for_each(|orders| output.rows(Kind::OrderTrials, orders))
    }
}

impl Run<'_> {
    /// The buckets that facts go to.
    pub(super) fn places(&self) -> Arc<Places> {
        Arc::new(Places::of(&self.scanned.facts, self.calendar, self.work.most_buckets()))
    }

    /// Counts what was written.
    pub(super) fn count_facts(
        &self,
        facts: &Facts,
        places: &Places,
        (faults, following): (&AtHand, &Following),
        trials: &mut Trials,
        store: &Store,
    ) -> Result<Counts, DeriveError> {
        let stepped = self
            .work
            .step(Stage::Count, || self.counted(facts, places, (faults, following), store))?;
        let ((), counts, CountedRows(orders)) = stepped;
        trials.orders.extend(orders);
        Ok(counts.unwrap_or_else(|| self.no_counts()))
    }

    fn counted(
        &self,
        facts: &Facts,
        places: &Places,
        (at_hand, following): (&AtHand, &Following),
        store: &Store,
    ) -> Result<Stepped<(), CountedRows>, DeriveError> {
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
            let faults = facts.faults(at_hand, bucket)?;
            for (matings, touches) in &facts.matings {
                for fact in matings.read(bucket)? {
                    let mating = fact.read(&faults, self.rules());
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
        let (mut counts, mut rows) = (self.no_counts(), CountedRows::default());
        for (counted, _, orders, _) in done {
            counts = counts.merge(counted);
            rows.0.push(orders.finish()?);
        }
        Ok(((), Some(counts), rows))
    }
}
