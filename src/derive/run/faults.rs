//! Between the passes: tickets find their matings, and the visits that waited for that are counted.

use std::collections::BTreeMap;
use std::sync::Arc;

use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use super::bucketwise::Run;
use super::carriers::Prompted;
use super::pass_one::PassOne;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::counts::OtherRule;
use crate::derive::face::visit::Visit;
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::VisitSpill;
use crate::derive::mating::fault::{Clues, Faults, InForce, wanted};
use crate::derive::mating::late::Signs;
use crate::derive::mating::ticket::Ticket;
use crate::derive::mating::variant::Variant;
use crate::derive::mating::window::{LAGS_HOURS, Windows};
use crate::derive::scan::cover::Attaching;
use crate::derive::share::stage::Stage;
use crate::derive::share::states::State;
use crate::store::Store;

/// The matings that tickets may belong to, by their numbers.
#[derive(Serialize, Deserialize)]
pub struct InForces(FxHashMap<u64, InForce>);

impl State for InForces {
    fn merge(mut self, other: InForces) -> InForces {
        self.0.extend(other.0);
        self
    }
}

impl State for Prompted {
    fn merge(mut self, other: Prompted) -> Prompted {
        self.extend(other);
        self
    }
}

/// What tickets came to.
pub(super) struct Attached {
    /// As the rules say.
    pub(super) faults: Faults,
    /// The same with other windows of tickets, in 5.5's sensitivity.
    pub(super) others: Vec<(OtherRule, Faults)>,
    /// By place of the source: how many of the tickets opened since matings of their site were recorded found one.
    pub(super) found: BTreeMap<u16, Attaching>,
    /// What tickets show of how late they come.
    pub(super) signs: Signs,
    /// The window of every source.
    pub(super) windows: Windows,
}

impl Run<'_> {
    /// Joins the matings that tickets may belong to, reads from them how late tickets come, then attaches and merges
    /// the tickets: with each source's window, and for the sensitivity with other ones. Tickets are few, so each of
    /// these costs next to nothing.
    pub(super) fn attach(
        &self,
        tickets: &[Ticket],
        one: &PassOne,
    ) -> Result<Attached, DeriveError> {
        let hits = &self.scanned.hits;
        let wanted: FxHashSet<u64> = wanted(tickets, hits, &one.candidates);
        let buckets = self.scanned.matings.count();
        let here = || self.in_force(&wanted, buckets, one);
        let (InForces(matings), _, ()) =
            self.work.step(Stage::InForce, || Ok((here()?, None, ())))?;
        let clues = Clues { hits, candidates: &one.candidates, matings: &matings };
        let rules = self.rules();
        let signs = Signs::of(tickets, &clues, &one.replaced, rules);
        let windows = signs.windows(rules);
        let mut faults = Faults::of(tickets, &clues, rules, &windows);
        let mut others = Vec::new();
        for (place, hours) in LAGS_HOURS.into_iter().enumerate() {
            let window = windows.of_hours(hours);
            if window != windows {
                let other = Faults::of(tickets, &clues, rules, &window);
                faults.also_near(&other);
                others.push((OtherRule::under(Variant::Lag(place), rules), other));
            }
        }
        let mut found: BTreeMap<u16, Attaching> = BTreeMap::new();
        for (number, source) in self.recorded_since(tickets) {
            let all = found.entry(source).or_default();
            all.tickets += 1;
            all.attached += u64::from(faults.is_attached(number));
        }
        Ok(Attached { faults, others, found, signs, windows })
    }

    /// The matings wanted, joined with their ends.
    fn in_force(
        &self,
        wanted: &FxHashSet<u64>,
        buckets: usize,
        one: &PassOne,
    ) -> Result<InForces, DeriveError> {
        let found = self.threads(
            buckets,
            || Ok(FxHashMap::default()),
            |worker, bucket| {
                let mut rows = self.scanned.matings.read(bucket)?;
                rows.retain(|row| wanted.contains(&row.number));
                if rows.is_empty() {
                    return Ok(());
                }
                let mut halves = one.halves.read(bucket)?;
                halves.retain(|half| wanted.contains(&half.mating));
                let pairs = self.joined(bucket, &rows, &halves).into_iter();
                worker.extend(pairs.map(|pair| (pair.row.number, InForce::of(&pair))));
                Ok(())
            },
        )?;
        Ok(InForces(found.into_iter().flatten().collect()))
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

    /// Hands on the visits that waited for the faults; which of them tell how an end came out of its
    /// mating, but were prompted.
    pub(super) fn deferred(
        &self,
        visits: Vec<Visit>,
        faults: &Faults,
        (one, places): (&mut PassOne, &Arc<Places>),
        store: &Store,
    ) -> Result<Prompted, DeriveError> {
        let (prompted, _, visits) = self.work.step(Stage::Deferred, || {
            let mut prompted = Prompted::default();
            let mut spill = VisitSpill::new(&store.work_folder(), places)?;
            for mut visit in visits {
                visit.prompted = faults.prompted(&visit, self.rules());
                self.witness.visit(&visit);
                spill.push(&visit)?;
                if visit.prompted && visit.first_since_mating {
                    prompted.insert((visit.last_mating, visit.key));
                }
            }
            Ok((prompted, None, spill.finish()?))
        })?;
        one.facts.visits.append(visits);
        Ok(prompted)
    }
}
