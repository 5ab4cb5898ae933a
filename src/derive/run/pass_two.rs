//! Pass two, by mating: halves join, matings get their coverage, follow-up and faults, and are counted.

use super::bucketwise::Run;
use super::carriers::Prompted;
use super::pass_one::PassOne;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::compared::compared_quarters;
use crate::derive::counts::{
    Counts, ForceTally, OtherRule, Pieces, TrialSpills, tally_exposure, tally_fault, tally_mating,
    tally_moved,
};
use crate::derive::face::event::NO_MATING;
use crate::derive::mating::describe::Setting;
use crate::derive::mating::exposure::exposures;
use crate::derive::mating::fault::Faults;
use crate::derive::mating::follow_up::Following;
use crate::derive::mating::unseen::unseen_mating;
use crate::derive::scan::cover::Covers;
use crate::derive::scan::names::MIXED;
use crate::store::Store;

impl Run<'_> {
    /// Runs it, and adds its counts to those of pass one.
    pub(super) fn pass_two(
        &self,
        one: &mut PassOne,
        covers: &Covers,
        (faults, others): (&Faults, &[(OtherRule, Faults)]),
        prompted: &Prompted,
        store: &Store,
    ) -> Result<Counts, DeriveError> {
        let setting = Setting {
            rules: self.rules(),
            covers,
            facts: &self.scanned.facts,
            faults,
            apart: &one.apart,
            quarters: &self.calendar.quarters,
            mixed_criteria: self.glossary.criteria.0.find(MIXED).unwrap_or(0),
            period_end: self.period.end,
        };
        let dark: Vec<bool> = self
            .glossary
            .stage
            .0
            .words()
            .iter()
            .map(|stage| self.plan.stages.dark.contains(stage))
            .collect();
        let quarters = 0..self.calendar.quarters.count();
        let looked_back = quarters
            .map(|piece| self.period.look_back.contains(&self.calendar.quarter(piece)))
            .collect();
        let (rules, calendar, end) = (self.rules(), self.calendar, self.period.end);
        let mut following = Following::new(rules, dark, calendar, end, looked_back);
        following.by_month = !self.plan.actions.is_empty();
        let variants = OtherRule::of(rules);
        let pieces = Pieces::of(self.calendar, &compared_quarters(self.period));
        let (with, folder) = (self.tallying(), store.work_folder());
        let start = || {
            let trials = TrialSpills::new(&folder, self.spread)?;
            let days = Days::of(self.plan.fleet.timezone);
            Ok((self.no_counts(), days, ForceTally::new(&pieces), trials))
        };
        let done = self.threads(self.scanned.matings.count(), start, |worker, bucket| {
            let (counts, days, weeks, trials) = worker;
            if self.scanned.matings.is_empty(bucket) {
                return Ok(());
            }
            for pair in self.pairs(&one.halves, bucket)? {
                let mating = setting.describe(&pair, days);
                self.witness.mating(&mating);
                tally_mating(&mating, &following, &variants, counts);
                if mating.near_tickets {
                    for (rule, faults) in others {
                        let other = setting.under(faults, &pair, &mating);
                        let tables = (&mut counts.followed, &mut counts.prices);
                        tally_moved([&mating, &other], rule, &following, tables);
                    }
                }
                weeks.add(&mating, &following);
                if let Some(unseen) = unseen_mating(&pair, &mating, &following) {
                    counts.worklist.unseen.add(unseen.cell(), unseen);
                }
                let exposed = exposures(&pair, prompted, self.period.end);
                for exposure in exposed.into_iter().flatten() {
                    self.witness.exposure(&exposure);
                    tally_exposure(&exposure, &with, &mut counts.carriers, trials);
                }
            }
            Ok(())
        })?;
        let mut counts = std::mem::replace(&mut one.counts, self.no_counts());
        for (counted, _, weeks, trials) in done {
            counts = counts.merge(counted);
            weeks.pour(&mut counts.rates.force_weeks);
            one.trials.add(trials)?;
        }
        for fault in faults.all().iter().filter(|fault| fault.mating == NO_MATING) {
            tally_fault(fault, (fault.found_stage, 0), &following, &mut counts);
        }
        Ok(counts)
    }
}
