//! The counts that the passes hand on: all that anything downstream ever sees.

use super::carriers::CarrierCounts;
use super::cleaning::CleaningCounts;
use super::coverage::CoverageCounts;
use super::declare::declare_part;
use super::entry::PassageCounts;
use super::first_pass::{FirstPassCounts, MOST_IN_ALL};
use super::followed::{FollowUpCounts, MOST_SITE_WEEKS};
use super::late::LateCounts;
use super::merged_faults::Faults;
use super::months::MonthCounts;
use super::prices::PriceCounts;
use super::rates::{MOST_FOLLOW_WEEKS, RateCounts};
use super::recording::RecordingCounts;
use super::risks::{MOST_RISK_SETS, RiskCounts};
use super::table::{AnyTable, CountTable, Part, TableAbout, beside_tables};
use super::trust::TrustCounts;
use crate::derive::pick::worklist::Worklist;

declare_part! {
    /// All counts of one derivation.
    Counts {
        /// 5.1.
        first_pass: FirstPassCounts,
        /// 5.2.
        cleaning: CleaningCounts,
        /// 5.3.
        coverage: CoverageCounts,
        /// 5.4a and 5.5.
        followed: FollowUpCounts,
        /// 5.5: who was at risk at each fault.
        risks: RiskCounts,
        /// 5.4.
        rates: RateCounts,
        /// 5.4: faults as merged.
        faults: CountTable<Faults>,
        /// 5.10: how late tickets come.
        late: LateCounts,
        /// 5.5: prices of faults.
        prices: PriceCounts,
        /// 5.10: whether recording follows what it records.
        recording: RecordingCounts,
        /// 5.6.
        entry: PassageCounts,
        /// 5.7.
        carriers: CarrierCounts,
        /// 5.10.
        trust: TrustCounts,
        /// 5.12, where the settings name an action.
        months: MonthCounts,
        /// 5.11: candidates, no sums.
        worklist: Worklist,
        /// Looks that name something else than the register does.
        conflicts: u64,
    }
}

beside_tables! {
    Worklist {
        empty(listed): Worklist::keeping(listed),
        merge(own, other): own.merge(other)
    }
}

impl Counts {
    /// Gives up the tables of clusters that have grown beyond their limits, while rows are counted and once tables
    /// are settled. The whole table goes: what is kept must not depend on which thread met what.
    pub fn give_up_beyond_limits(&mut self) {
        self.first_pass.work_orders.give_up_beyond(MOST_IN_ALL);
        self.followed.site_weeks.give_up_beyond(MOST_SITE_WEEKS);
        self.risks.risk_sets.give_up_beyond(MOST_RISK_SETS);
        self.risks.risk_variants.give_up_beyond(MOST_RISK_SETS);
        self.rates.follow_weeks.give_up_beyond(MOST_FOLLOW_WEEKS);
    }

    /// Every count table, in the order of the declaration.
    pub fn tables(&self) -> Vec<&dyn AnyTable> {
        let mut tables = Vec::new();
        self.list(&mut tables);
        tables
    }

    /// What every count table is, in the same order: its columns, figures, units and what they mean.
    pub fn dictionary() -> Vec<&'static TableAbout> {
        let mut tables = Vec::new();
        <Counts as Part>::about(&mut tables);
        tables
    }
}
