//! Between the passes: tickets find their matings, and the visits that waited for that are told.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use rustc_hash::FxHashMap;

use super::at_hand::{
    AtHand, Attached, AttachedRows, InForces, Prompted, PromptedRow, PromptedVisits, WantedMatings,
};
use super::bucketwise::Run;
use super::pass_one::PassOne;
use super::waiting::Waiting;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::counts::{OtherRule, tally_fault};
use crate::derive::face::event::NO_MATING;
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::{VisitBuckets, VisitSpill};
use crate::derive::mating::fault::{Clues, Faults, InForce, wanted};
use crate::derive::mating::follow_up::Following;
use crate::derive::mating::handed::{Asked, HandedFaults, Handing};
use crate::derive::mating::late::Signs;
use crate::derive::mating::ticket::Ticket;
use crate::derive::mating::variant::Variant;
use crate::derive::mating::window::{LAGS_HOURS, Windows};
use crate::derive::scan::cover::Attaching;
use crate::derive::share::stage::Stage;
use crate::derive::share::work::{Stepped, Work};
use crate::settings::Rules;
use crate::store::{Buckets, Spill, Store};

/// The other windows under which 5.5 is counted too: their places, and their rules.
pub(super) fn other_windows(windows: &Windows, rules: &Rules) -> (Vec<usize>, Vec<OtherRule>) {
    let places = (0..LAGS_HOURS.len()).filter(|at| windows.of_hours(LAGS_HOURS[*at]) != *windows);
    places.map(|at| (at, OtherRule::under(Variant::Lag(at), rules))).unzip()
}

/// Matings of which faults are asked at a time.
const ASKED_AT_A_TIME: usize = 1 << 15;

impl Run<'_> {
    /// Joins the matings that tickets may belong to, reads from them how late tickets come, then attaches and merges
    /// the tickets: with each source's window, and for the sensitivity with other ones; then tells the visits that waited.
    /// Tickets are few, so each of these costs next to nothing.
    pub(super) fn attach(
        &self,
        tickets: &[Ticket],
        one: &mut PassOne,
        (following, places): (&Following, &Arc<Places>),
        store: &Store,
    ) -> Result<(Attached, AttachedRows), DeriveError> {
        let buckets = self.scanned.matings.count();
        let ((), _, wanted) =
            self.work.step(Stage::Wanted, || Ok(((), None, self.wanted(tickets, one, store)?)))?;
        let ((), _, InForces(matings)) = self.work.step(Stage::InForce, || {
            Ok(((), None, InForces(self.in_force(&wanted, buckets, one)?)))
        })?;
        drop(wanted);
        let (waiting, asked) = (std::mem::take(&mut one.waiting), std::mem::take(&mut one.asked));
        let (attached, counts, rows) = self.work.step(Stage::Attach, || {
            let clues =
                Clues { hits: &self.scanned.hits, candidates: &one.candidates, matings: &matings };
            self.attached(
                tickets,
                (&clues, &one.replaced),
                (waiting, &asked),
                (following, places),
                store,
            )
        })?;
        if let Some(counts) = counts {
            let known = std::mem::replace(&mut one.counts, self.no_counts());
            one.counts = known.merge(counts);
        }
        Ok((attached, rows))
    }

    fn wanted(
        &self,
        tickets: &[Ticket],
        one: &PassOne,
        store: &Store,
    ) -> Result<WantedMatings, DeriveError> {
        let wanted = wanted(tickets, &self.scanned.hits, &one.candidates);
        if self.work.is_whole() {
            return Ok(WantedMatings::Here(wanted));
        }
        let mut rows = Spill::new(&store.work_folder(), self.spread.matings())?;
        for number in wanted {
            rows.push(self.spread.mating(number), &number)?;
        }
        Ok(WantedMatings::ByBucket(rows.finish()?))
    }

    /// The matings wanted, joined with their ends.
    fn in_force(
        &self,
        wanted: &WantedMatings,
        buckets: usize,
        one: &PassOne,
    ) -> Result<FxHashMap<u64, InForce>, DeriveError> {
        let found = self.threads(
            buckets,
            || Ok(FxHashMap::default()),
            |worker, bucket| {
                let wanted = wanted.of_bucket(bucket)?;
                if wanted.is_empty() {
                    return Ok(());
                }
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
        Ok(found.into_iter().flatten().collect())
    }

    /// Attaches all tickets.
    fn attached(
        &self,
        tickets: &[Ticket],
        (clues, replaced): (&Clues, &[u64]),
        (waiting, asked): (Waiting, &Buckets<Asked>),
        (following, places): (&Following, &Arc<Places>),
        store: &Store,
    ) -> Result<Stepped<Attached, AttachedRows>, DeriveError> {
        let rules = self.rules();
        let signs = Signs::of(tickets, clues, replaced, rules);
        let windows = signs.windows(rules);
        let mut faults = Faults::of(tickets, clues, rules, &windows);
        let mut found: BTreeMap<u16, Attaching> = BTreeMap::new();
        for (number, source) in self.recorded_since(tickets) {
            let all = found.entry(source).or_default();
            all.tickets += 1;
            all.attached += u64::from(faults.is_attached(number));
        }
        let mut counts = self.no_counts();
        for fault in faults.all().iter().filter(|fault| fault.mating == NO_MATING) {
            tally_fault(fault, (fault.found_stage, 0), following, &mut counts);
        }
        let (prompted, visits) = self.deferred(waiting, &faults, places, store)?;
        let ambiguous = faults.ambiguous;
        let under = |place: &usize| {
            (
                *place,
                Faults::of_others(tickets, clues, rules, &windows.of_hours(LAGS_HOURS[*place])),
            )
        };
        let (other_places, _) = other_windows(&windows, rules);
        let others = other_places.iter().map(under);
        let folder = store.work_folder();
        let (at_hand, prompted) = match self.work {
            Work::Whole => {
                let others: Vec<Faults> = others.map(|(_, other)| other).collect();
                others.iter().for_each(|other| faults.also_near(other));
                (AtHand::Here(faults, others), PromptedVisits::Here(prompted))
            }
            _ => {
                let handed = self.handed(&faults, others, asked, &folder)?;
                (AtHand::ByBucket(handed), self.prompted_rows(prompted, &folder)?)
            }
        };
        let attached = Attached { found, signs, windows, ambiguous };
        Ok((attached, Some(counts), AttachedRows { visits, faults: at_hand, prompted }))
    }

    /// Faults in the buckets of their matings; of the other windows one at a time.
    fn handed(
        &self,
        faults: &Faults,
        others: impl Iterator<Item = (usize, Faults)>,
        asked: &Buckets<Asked>,
        folder: &Path,
    ) -> Result<HandedFaults, DeriveError> {
        let mut handing = Handing::new(folder, self.spread)?;
        handing.ruled(faults)?;
        let rules = self.rules();
        let ask = |handing: &mut Handing, other: Option<(usize, &Faults)>| {
            asked.chunks(0, ASKED_AT_A_TIME, |some| {
                some.iter().try_for_each(|asked| handing.asked(*asked, (faults, rules), other))
            })
        };
        ask(&mut handing, None)?;
        for (place, other) in others {
            handing.other(place, faults, &other)?;
            ask(&mut handing, Some((place, &other)))?;
        }
        handing.finish()
    }

    fn prompted_rows(
        &self,
        prompted: Prompted,
        folder: &Path,
    ) -> Result<PromptedVisits, DeriveError> {
        let mut rows = Spill::new(folder, self.spread.matings())?;
        for (mating, key) in prompted.into_iter().filter(|(mating, _)| *mating != NO_MATING) {
            rows.push(self.spread.mating(mating), &PromptedRow { mating, key })?;
        }
        Ok(PromptedVisits::ByBucket(rows.finish()?))
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
    fn deferred(
        &self,
        waiting: Waiting,
        faults: &Faults,
        places: &Arc<Places>,
        store: &Store,
    ) -> Result<(Prompted, VisitBuckets), DeriveError> {
        let mut prompted = Prompted::default();
        let mut spill = VisitSpill::new(&store.work_folder(), places)?;
        waiting.each(|mut visit| {
            visit.prompted = faults.prompted(&visit, self.rules());
            self.witness.visit(&visit);
            if visit.prompted && visit.first_since_mating {
                prompted.insert((visit.last_mating, visit.key));
            }
            spill.push(&visit)
        })?;
        Ok((prompted, spill.finish()?))
    }
}
