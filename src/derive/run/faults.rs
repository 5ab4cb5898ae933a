//! Between the passes: tickets find their matings, and the visits that waited for that are told.

use std::path::Path;
use std::sync::Arc;

use rustc_hash::{FxHashMap, FxHashSet};

use super::at_hand::{
    AtHand, Attached, AttachedRows, InForces, Met, Prompted, PromptedRow, PromptedVisits,
    WantedMatings,
};
use super::bucketwise::Run;
use super::group_rows::GroupRows;
use super::groups::Grouping;
use super::pass_one::PassOne;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::counts::{Counts, OtherRule, tally_fault};
use crate::derive::face::event::NO_MATING;
use crate::derive::face::visit::Visit;
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::VisitSpill;
use crate::derive::mating::fault::{Clues, Faults, InForce, wanted};
use crate::derive::mating::follow_up::Following;
use crate::derive::mating::handed::{Asked, Handing};
use crate::derive::mating::late::Signs;
use crate::derive::mating::ticket::Ticket;
use crate::derive::mating::variant::Variant;
use crate::derive::mating::window::{LAGS_HOURS, Windows};
use crate::derive::share::stage::Stage;
use crate::derive::share::work::Work;
use crate::settings::Rules;
use crate::store::{Buckets, Spill, Store};

/// The other windows under which 5.5 is counted too: their places, and their rules.
pub(super) fn other_windows(windows: &Windows, rules: &Rules) -> (Vec<usize>, Vec<OtherRule>) {
    let places = (0..LAGS_HOURS.len()).filter(|at| windows.of_hours(LAGS_HOURS[*at]) != *windows);
    places.map(|at| (at, OtherRule::under(Variant::Lag(at), rules))).unzip()
}

/// Who is shown a visit.
type EachVisit<'a> = dyn FnMut(Visit) -> Result<(), DeriveError> + 'a;

/// Matings of which faults are asked at a time.
const ASKED_AT_A_TIME: usize = 1 << 15;

/// What attaching came to so far, apart from the faults.
struct Attaching {
    met: Met,
    counts: Counts,
    prompted: Prompted,
    visits: VisitSpill,
}

impl Run<'_> {
    /// Joins the matings that tickets may belong to, reads from them how late tickets come, then attaches and merges
    /// the tickets: with each source's window, and for the sensitivity with other ones; then tells the visits that waited.
    /// On one machine all tickets are at hand, elsewhere one group of those that hang together at a time.
    pub(super) fn attach(
        &self,
        tickets: &[Ticket],
        one: &mut PassOne,
        (following, places): (&Following, &Arc<Places>),
        store: &Store,
    ) -> Result<(Attached, AttachedRows), DeriveError> {
        let buckets = self.scanned.matings.count();
        let ((), _, matings) = self.work.step(Stage::InForce, || {
            let wanted = match self.work.is_whole() {
                true => WantedMatings::Here(wanted(tickets, &self.scanned.hits, &one.candidates)),
                false => WantedMatings::ByBucket(&one.wanted),
            };
            let here = self.in_force(&wanted, buckets, one)?;
            Ok(((), None, InForces { here, ..InForces::default() }))
        })?;
        // One of the two stages has them.
        let mut waiting = std::mem::take(&mut one.waiting);
        let (grouping, _, groups) = self.work.step(Stage::Groups, || match self.work {
            Work::Whole => Ok((Grouping::of(tickets), None, GroupRows::default())),
            _ => self.grouped(one, std::mem::take(&mut waiting), &matings.rows, store),
        })?;
        let clearing = grouping.clearing();
        let clues = Clues {
            hits: &self.scanned.hits,
            candidates: &one.candidates,
            matings: &matings.here,
            clearing: &clearing,
        };
        let rules = self.rules();
        let (signs, _, ()) = self.work.step(Stage::Signs, || {
            let signs = match self.work {
                Work::Whole => Signs::of(tickets, &clues, rules),
                _ => self.signs_of_groups(&groups, &clearing)?,
            };
            Ok((signs, None, ()))
        })?;
        let signs = signs.complete(&one.replaced);
        let windows = signs.windows(rules);
        let (met, counts, rows) = self.work.step(Stage::Attach, || {
            let mut so_far = Attaching {
                met: Met::default(),
                counts: self.no_counts(),
                prompted: Prompted::default(),
                visits: VisitSpill::new(&store.work_folder(), places)?,
            };
            let faults = match self.work {
                Work::Whole => {
                    let with = (&windows, following);
                    let mut faults = self.attached(
                        tickets,
                        &clues,
                        with,
                        |each| waiting.each(each),
                        &mut so_far,
                    )?;
                    let others = self.others(tickets, &clues, &windows);
                    let others: Vec<Faults> = others.map(|(_, other)| other).collect();
                    others.iter().for_each(|other| faults.also_near(other));
                    AtHand::Here(faults, others)
                }
                _ => {
                    let with = (&windows, following, &clearing);
                    self.attached_in_groups(&groups, with, &mut so_far, &store.work_folder())?
                }
            };
            let Attaching { met, counts, prompted, visits } = so_far;
            let prompted = match self.work {
                Work::Whole => PromptedVisits::Here(prompted),
                _ => self.prompted_rows(prompted, &store.work_folder())?,
            };
            let rows = AttachedRows { visits: visits.finish()?, faults, prompted };
            Ok((met, Some(counts), rows))
        })?;
        if let Some(counts) = counts {
            let known = std::mem::replace(&mut one.counts, self.no_counts());
            one.counts = known.merge(counts);
        }
        Ok((Attached { met, signs, windows }, rows))
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

    /// The faults of all groups, by bucket.
    fn attached_in_groups(
        &self,
        groups: &GroupRows,
        (windows, following, clearing): (&Windows, &Following, &FxHashSet<u16>),
        so_far: &mut Attaching,
        folder: &Path,
    ) -> Result<AtHand, DeriveError> {
        let mut handing = Handing::new(folder, self.spread)?;
        for group in 0..groups.count() {
            let own = groups.read(group)?;
            let clues = own.clues(clearing);
            let visits = |each: &mut EachVisit| groups.visits.each(group, each);
            let faults =
                self.attached(&own.tickets, &clues, (windows, following), visits, so_far)?;
            let others = self.others(&own.tickets, &clues, windows);
            self.hand(&faults, others, (&groups.asked, group), &mut handing)?;
        }
        Ok(AtHand::ByBucket(handing.finish()?))
    }

    /// Attaches tickets and all that hang together with them, and hands on the visits that waited for the faults; which
    /// of these tell how an end came out of its mating, but were prompted.
    fn attached(
        &self,
        tickets: &[Ticket],
        clues: &Clues,
        (windows, following): (&Windows, &Following),
        visits: impl FnOnce(&mut EachVisit) -> Result<(), DeriveError>,
        so_far: &mut Attaching,
    ) -> Result<Faults, DeriveError> {
        let faults = Faults::of(tickets, clues, self.rules(), windows);
        for (number, source) in self.recorded_since(tickets) {
            let all = so_far.met.found.entry(source).or_default();
            all.tickets += 1;
            all.attached += u64::from(faults.is_attached(number));
        }
        so_far.met.ambiguous += faults.ambiguous;
        for fault in faults.all().iter().filter(|fault| fault.mating == NO_MATING) {
            tally_fault(fault, (fault.found_stage, 0), following, &mut so_far.counts);
        }
        visits(&mut |mut visit: Visit| {
            visit.prompted |= faults.prompted(&visit, self.rules());
            self.witness.visit(&visit);
            if visit.prompted && visit.first_since_mating {
                so_far.prompted.insert((visit.last_mating, visit.key));
            }
            so_far.visits.push(&visit)
        })?;
        Ok(faults)
    }

    /// The faults under each of the other windows, with the window's place.
    fn others<'a>(
        &'a self,
        tickets: &'a [Ticket],
        clues: &'a Clues<'a>,
        windows: &'a Windows,
    ) -> impl Iterator<Item = (usize, Faults)> + 'a {
        let rules = self.rules();
        let (places, _) = other_windows(windows, rules);
        places.into_iter().map(move |place| {
            let windows = windows.of_hours(LAGS_HOURS[place]);
            (place, Faults::of_others(tickets, clues, rules, &windows))
        })
    }

    /// Hands faults to the buckets of their matings; of the other windows one at a time.
    fn hand(
        &self,
        faults: &Faults,
        others: impl Iterator<Item = (usize, Faults)>,
        (asked, group): (&Buckets<Asked>, usize),
        handing: &mut Handing,
    ) -> Result<(), DeriveError> {
        handing.ruled(faults)?;
        let rules = self.rules();
        let ask = |handing: &mut Handing, other: Option<(usize, &Faults)>| {
            asked.chunks(group, ASKED_AT_A_TIME, |some| {
                some.iter().try_for_each(|asked| handing.asked(*asked, (faults, rules), other))
            })
        };
        ask(handing, None)?;
        for (place, other) in others {
            handing.other(place, faults, &other)?;
            ask(handing, Some((place, &other)))?;
        }
        Ok(())
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
}
