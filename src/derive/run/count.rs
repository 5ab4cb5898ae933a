//! The passes in their order, and the sums of what they count.

use super::at_hand::{Attached, AttachedRows, Met};
use super::bucketwise::Run;
use crate::derive::DeriveError;
use crate::derive::counts::{Counts, tally_months, tally_signs};
use crate::derive::mating::ticket::Ticket;
use crate::derive::mating::window::Windows;
use crate::derive::scan::cover::Covers;
use crate::store::Store;

/// What became of the tickets, apart from what was counted.
pub struct TicketsRead {
    /// Tickets whose mating record was ambiguous.
    pub ambiguous: u64,
    /// How late tickets of every source may come.
    pub windows: Windows,
    /// How late tickets of the fleet are seen to come at least, hours.
    pub shown_hours: u32,
}

impl Run<'_> {
    /// Runs the passes; also tells what became of the tickets. Sources of tickets of which too few find a mating lose
    /// their cover.
    ///
    /// # Errors
    /// A damaged store or a full disk.
    pub fn count(
        &self,
        store: &Store,
        tickets: &[Ticket],
        covers: &mut Covers,
    ) -> Result<(Counts, TicketsRead), DeriveError> {
        let places = self.places();
        // Events, and of as many buckets work orders and end faces; matings thrice; facts.
        let buckets = 3 * (self.scanned.events.count() + self.scanned.matings.count());
        self.progress.expect((buckets + places.count()) as u64);
        let mut one = self.pass_one(store, &places)?;
        let mut following = self.following();
        let (attached, rows) = self.attach(tickets, &mut one, (&following, &places), store)?;
        let Attached { met: Met { found, ambiguous }, signs, windows } = attached;
        let AttachedRows { visits, faults, prompted } = rows;
        one.facts.visits.append(visits);
        covers.withdraw(&found, self.rules().least_meeting);
        let with = (&faults, &windows, &following);
        let (mut counts, mut trials, times) =
            self.pass_two(&mut one, covers, with, (&prompted, &places), store)?;
        [following.risk_times, following.reseat_times] = times;
        let counted =
            self.count_facts(&one.facts, &places, (&faults, &following), &mut trials, store)?;
        counts = counts.merge(counted);
        counts.carriers = self.carriers(trials, &one.halves, &prompted, counts.carriers)?;
        tally_months(&self.scanned.facts, self.calendar, &mut counts.coverage);
        tally_signs(&signs, &mut counts.late);
        counts.settle();
        let shown_hours = signs.shown_hours();
        Ok((counts, TicketsRead { ambiguous, windows, shown_hours }))
    }
}
