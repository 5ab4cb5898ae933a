//! Between the passes: tickets find their matings, and the visits that waited for that are counted.

use std::collections::BTreeMap;

use rustc_hash::{FxHashMap, FxHashSet};

use super::bucketwise::Run;
use super::carriers::Prompted;
use super::pass_one::PassOne;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::counts::{TrialSpills, tally_visit};
use crate::derive::face::visit::Visit;
use crate::derive::mating::fault::{Clues, Faults, InForce, wanted};
use crate::derive::mating::ticket::Ticket;
use crate::derive::scan::cover::Attaching;
use crate::store::Store;

impl Run<'_> {
    /// Joins the matings that tickets may belong to, then attaches and merges the tickets. Also counts by source how
    /// many found one, of the tickets opened since matings of their site were recorded.
    pub(super) fn attach(
        &self,
        tickets: Vec<Ticket>,
        one: &PassOne,
    ) -> Result<(Faults, BTreeMap<u16, Attaching>), DeriveError> {
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
        let since = self.recorded_since(&tickets);
        let faults = Faults::of(tickets, &clues, self.rules());
        let mut by_source: BTreeMap<u16, Attaching> = BTreeMap::new();
        for (number, source) in since {
            let all = by_source.entry(source).or_default();
            all.tickets += 1;
            all.attached += u64::from(faults.is_attached(number));
        }
        Ok((faults, by_source))
    }

    /// Places and sources of the tickets opened in or after the month in which their site's first mating was recorded;
    /// of a site without a mating, the fleet's first. A ticket before that had nothing to be attached to.
    fn recorded_since(&self, tickets: &[Ticket]) -> Vec<(usize, u16)> {
        let mut first: FxHashMap<u32, i32> = FxHashMap::default();
        let mut fleets: Option<i32> = None;
        for ((site, month), rows) in self.scanned.facts.by_month() {
            if rows.matings > 0 {
                // Months of a site come in their order.
                first.entry(site).or_insert(month);
                fleets = Some(fleets.map_or(month, |known| known.min(month)));
            }
        }
        let mut days = Days::of(self.plan.fleet.timezone);
        let mut is_since = |ticket: &Ticket| {
            let month = days.holding(ticket.opened).month;
            first.get(&ticket.site).copied().or(fleets).is_some_and(|first| first <= month)
        };
        let numbered = tickets.iter().enumerate();
        numbered.filter(|(_, t)| is_since(t)).map(|(number, t)| (number, t.source)).collect()
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
