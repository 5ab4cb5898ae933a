//! The passes in their order, and the sums of what they count.

use super::bucketwise::Run;
use crate::derive::DeriveError;
use crate::derive::counts::{Counts, tally_months};
use crate::derive::mating::ticket::Ticket;
use crate::derive::scan::cover::Covers;
use crate::store::Store;

impl Run<'_> {
    /// Runs the passes; also tells how many tickets named an ambiguous mating record. Sources of tickets of which too
    /// few find a mating lose their cover.
    ///
    /// # Errors
    /// A damaged store or a full disk.
    pub fn count(
        &self,
        store: &Store,
        tickets: Vec<Ticket>,
        covers: &mut Covers,
    ) -> Result<(Counts, u64), DeriveError> {
        // Events, and of as many buckets work orders and end faces; matings thrice.
        let buckets = 3 * (self.scanned.events.count() + self.scanned.matings.count());
        self.progress.expect(buckets as u64);
        let mut one = self.pass_one(store)?;
        let (faults, attached) = self.attach(tickets, &one)?;
        covers.withdraw(&attached, self.rules().least_meeting);
        let deferred = std::mem::take(&mut one.deferred);
        let prompted = self.deferred(deferred, &faults, &mut one, store)?;
        let mut counts = self.pass_two(&mut one, covers, &faults, &prompted, store)?;
        counts.carriers = self.carriers(one.trials, &one.halves, &prompted, counts.carriers)?;
        tally_months(&self.scanned.facts, self.calendar, &mut counts.coverage);
        Ok((counts, faults.ambiguous))
    }
}
