//! The count tables that the passes hand on: all that anything downstream ever sees.

use super::carrier_counts::CarrierCounts;
use super::cluster_counts::{self, CycleTrials, MatingClusters, MatingWeeks};
use super::passage_counts::PassageCounts;
use super::rate_counts::RateCounts;
use super::table::{CountTable, Dimension};
use crate::derive::DeriveError;
use crate::derive::mating::describe::Coverage;
use crate::derive::mating::variant::Variant;
use crate::derive::pick::worklist::Worklist;

pub use super::kinds::*;

/// All of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counts {
    pub visits: Visits,
    pub suppliers: Suppliers,
    pub work_orders: Clusters,
    pub site_days: Clusters,
    pub first_looks: FirstLooks,
    pub cycles: Cycles,
    pub cycle_trials: CycleTrials,
    pub cleanings: Cleanings,
    pub matings: Matings,
    pub mating_weeks: MatingWeeks,
    pub mating_clusters: MatingClusters,
    pub follow_up: FollowUp,
    pub in_force: InForce,
    pub since_mating: SinceMating,
    pub site_weeks: SiteWeeks,
    pub variants: Variants,
    pub faults: FaultCounts,
    pub rates: RateCounts,
    pub site_months: SiteMonths,
    pub unreadable: Unreadable,
    pub carriers: CarrierCounts,
    pub entry: PassageCounts,
    pub worklist: Worklist,
    /// Looks that name something else than the register does.
    pub conflicts: u64,
    /// Fails that do not say what failed (R5).
    pub findings_missing: u64,
}

const QUARTER: (&str, Dimension) = ("quarter", Dimension::Quarter);
const WEEK: (&str, Dimension) = ("week", Dimension::Week);
const SITE: (&str, Dimension) = ("site", Dimension::Site);
const STAGE: (&str, Dimension) = ("stage", Dimension::Stage);
const FAMILY: (&str, Dimension) = ("family", Dimension::Family);
const SIDE: (&str, Dimension) = ("side", Dimension::Words(SIDES));
const SUPPLIER: (&str, Dimension) = ("supplier", Dimension::Supplier);
const CAP: (&str, Dimension) = ("capped", Dimension::Words(CAPPED));
const METHOD: (&str, Dimension) = ("method", Dimension::Method);
const MONTH: (&str, Dimension) = ("month", Dimension::Month);
const COVERAGE: (&str, Dimension) = ("coverage", Dimension::Words(&Coverage::WORDS));
const CRITERIA: (&str, Dimension) = ("criteria", Dimension::Criteria);
const BAND: (&str, Dimension) = ("band", Dimension::Number);
const AFTER_FAULT: (&str, Dimension) = ("after_fault", Dimension::Words(NO_YES));

/// What is counted of visits.
const VISIT_MEASURES: [&str; 8] =
    ["visits", "looks", "clean", "contaminated", "defective", "unclear", "cleanings", "rejects"];

/// What 5.5 counts of follow-up: matings, their unseen ends, first faults of the definition, time
/// to the first or the end, cost of all faults of the definition.
const EXPOSURE_MEASURES: [&str; 5] = ["started", "unseen_ends", "faults", "seconds", "cost"];

fn clusters(name: &'static str) -> Clusters {
    let number = |name| (name, Dimension::Number);
    CountTable::empty(
        name,
        [
            QUARTER,
            STAGE,
            FAMILY,
            SIDE,
            SITE,
            SUPPLIER,
            CAP,
            number("cluster_high"),
            number("cluster_low"),
        ],
        ["looks", "clean"],
    )
}

impl Counts {
    /// Tables without counts.
    pub fn empty() -> Counts {
        Counts {
            visits: CountTable::empty(
                "visits",
                [QUARTER, SITE, STAGE, FAMILY, SIDE, CAP, ("row", Dimension::Words(VISIT_ROWS))],
                VISIT_MEASURES,
            ),
            suppliers: CountTable::empty("suppliers", [QUARTER, SUPPLIER], VISIT_MEASURES),
            work_orders: clusters("work_orders"),
            site_days: clusters("site_days"),
            first_looks: CountTable::empty(
                "first_looks",
                [QUARTER, WEEK, SITE],
                ["looks", "clean"],
            ),
            cycles: CountTable::empty(
                "cycles",
                [
                    QUARTER,
                    SITE,
                    STAGE,
                    FAMILY,
                    ("view", Dimension::Words(VIEWS)),
                    METHOD,
                    ("cycle", Dimension::Number),
                ],
                ["passed", "rejected", "left", "censored", "cleanings"],
            ),
            cycle_trials: cluster_counts::cycle_trials(),
            cleanings: CountTable::empty(
                "cleanings",
                [QUARTER, SITE, STAGE, FAMILY, METHOD],
                [
                    "cycles",
                    "passed",
                    "contaminated",
                    "defective",
                    "cleanings",
                    "while_clean",
                    "while_clean_seen",
                    "soiled",
                ],
            ),
            matings: CountTable::empty(
                "matings",
                [QUARTER, SITE, STAGE, FAMILY, COVERAGE],
                ["matings", "reseats", "unseen_ends", "day_only"],
            ),
            mating_weeks: cluster_counts::mating_weeks(),
            mating_clusters: cluster_counts::mating_clusters(),
            follow_up: CountTable::empty(
                "follow_up",
                [QUARTER, SITE, STAGE, FAMILY, CRITERIA, AFTER_FAULT, COVERAGE, BAND],
                [
                    "started",
                    "unseen_ends",
                    "linked",
                    "linked_s",
                    "confirmed",
                    "confirmed_s",
                    "suspect",
                    "suspect_s",
                    "any",
                    "any_s",
                    "control",
                    "control_s",
                    "cost",
                    "costed",
                ],
            ),
            in_force: CountTable::empty(
                "in_force",
                [QUARTER, SITE, STAGE, FAMILY],
                [
                    "matings",
                    "linked",
                    "linked_s",
                    "confirmed",
                    "confirmed_s",
                    "suspect",
                    "suspect_s",
                    "any",
                    "any_s",
                ],
            ),
            since_mating: CountTable::empty(
                "since_mating",
                [QUARTER, AFTER_FAULT, COVERAGE, ("day", Dimension::Number)],
                ["entered", "left", "part_s", "linked"],
            ),
            site_weeks: CountTable::empty(
                "site_weeks",
                [WEEK, QUARTER, SITE, STAGE, FAMILY, CRITERIA, COVERAGE, BAND],
                EXPOSURE_MEASURES,
            ),
            variants: CountTable::empty(
                "variants",
                [
                    ("variant", Dimension::Words(&Variant::WORDS)),
                    QUARTER,
                    SITE,
                    STAGE,
                    FAMILY,
                    CRITERIA,
                    COVERAGE,
                    BAND,
                ],
                EXPOSURE_MEASURES,
            ),
            faults: CountTable::empty(
                "faults",
                [
                    QUARTER,
                    SITE,
                    STAGE,
                    FAMILY,
                    ("cause", Dimension::Cause),
                    ("level", Dimension::Words(LEVELS)),
                    ("how", Dimension::Words(HOW)),
                ],
                ["faults", "tickets", "cost", "downtime_min", "restored", "restore_s", "outside"],
            ),
            rates: RateCounts::empty(),
            site_months: CountTable::empty(
                "site_months",
                [MONTH, SITE],
                ["looks", "cleanings", "matings"],
            ),
            unreadable: CountTable::empty(
                "unreadable",
                [MONTH, SITE, ("instrument", Dimension::Device)],
                ["looks"],
            ),
            carriers: CarrierCounts::empty(),
            entry: PassageCounts::empty(),
            worklist: Worklist::default(),
            conflicts: 0,
            findings_missing: 0,
        }
    }

    /// Adds the counts of another share of the rows.
    pub fn merge(self, other: Counts) -> Counts {
        Counts {
            visits: self.visits.merge(other.visits),
            suppliers: self.suppliers.merge(other.suppliers),
            work_orders: self.work_orders.merge(other.work_orders),
            site_days: self.site_days.merge(other.site_days),
            first_looks: self.first_looks.merge(other.first_looks),
            cycles: self.cycles.merge(other.cycles),
            cycle_trials: self.cycle_trials.merge(other.cycle_trials),
            cleanings: self.cleanings.merge(other.cleanings),
            matings: self.matings.merge(other.matings),
            mating_weeks: self.mating_weeks.merge(other.mating_weeks),
            mating_clusters: self.mating_clusters.merge(other.mating_clusters),
            follow_up: self.follow_up.merge(other.follow_up),
            in_force: self.in_force.merge(other.in_force),
            since_mating: self.since_mating.merge(other.since_mating),
            site_weeks: self.site_weeks.merge(other.site_weeks),
            variants: self.variants.merge(other.variants),
            faults: self.faults.merge(other.faults),
            rates: self.rates.merge(other.rates),
            site_months: self.site_months.merge(other.site_months),
            unreadable: self.unreadable.merge(other.unreadable),
            carriers: self.carriers.merge(other.carriers),
            entry: self.entry.merge(other.entry),
            worklist: self.worklist.merge(other.worklist),
            conflicts: self.conflicts + other.conflicts,
            findings_missing: self.findings_missing + other.findings_missing,
        }
    }

    /// Checks that cells plus off-table are the total, in every table.
    ///
    /// # Errors
    /// Names the first table that does not add up.
    pub fn check(&self) -> Result<(), DeriveError> {
        self.visits.check()?;
        self.suppliers.check()?;
        self.work_orders.check()?;
        self.site_days.check()?;
        self.first_looks.check()?;
        self.cycles.check()?;
        self.cycle_trials.check()?;
        self.cleanings.check()?;
        self.matings.check()?;
        self.mating_weeks.check()?;
        self.mating_clusters.check()?;
        self.follow_up.check()?;
        self.in_force.check()?;
        self.since_mating.check()?;
        self.site_weeks.check()?;
        self.variants.check()?;
        self.faults.check()?;
        self.rates.check()?;
        self.site_months.check()?;
        self.unreadable.check()?;
        self.carriers.check()?;
        self.entry.check()
    }
}
