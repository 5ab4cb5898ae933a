//! The count tables that the passes hand on: all that anything downstream ever sees.

use super::DeriveError;
use super::count_table::{CountTable, Dimension};
use super::mating::Coverage;

/// Rows of first pass (5.1): a visit is in the first that fits.
pub const VISIT_ROWS: &[&str] = &["sealed", "prompted", "again", "routine"];
/// Cap words; code 0 is not recorded.
pub const CAPPED: &[&str] = &["unknown", "uncapped", "capped"];
/// Side words; code 0 is not known.
pub const SIDES: &[&str] = &["unknown", "plug", "bulkhead"];
/// Plain yes and no.
pub const NO_YES: &[&str] = &["no", "yes"];
/// Which methods the cycles of a visit are followed under (5.2).
pub const VIEWS: &[&str] = &["all", "method"];
/// Which faults a follow-up counts: confirmed and probable (the headline), confirmed alone,
/// suspects too, every attached fault, causes that dirt cannot produce.
pub const DEFINITIONS: [&str; 5] = ["linked", "confirmed", "suspect", "any", "control"];
/// How a fault found its mating.
pub const HOW: &[&str] = &["record", "end-face", "lagged", "ambiguous", "unattached"];
/// Levels of link, weakest first.
pub const LEVELS: &[&str] = &["none", "suspect", "probable", "confirmed"];

/// 5.1, also what a look leads to (5.5).
pub type Visits = CountTable<7, 8>;
/// 5.1's supplier rows: routine visits that are an end face's first recorded one.
pub type Suppliers = CountTable<2, 8>;
/// First looks by work order or site-day (5.1's design effect).
pub type Clusters = CountTable<8, 2>;
/// 5.1 over time: routine first looks by week.
pub type FirstLooks = CountTable<2, 2>;
/// 5.2: how visits that began contaminated left, by cycle.
pub type Cycles = CountTable<7, 5>;
/// 5.2: what cycles and cleanings did, by method.
pub type Cleanings = CountTable<5, 8>;
/// 5.3.
pub type Matings = CountTable<5, 4>;
/// 5.3 over time.
pub type MatingWeeks = CountTable<2, 1>;
/// 5.4a and 5.5: follow-up by band.
pub type FollowUp = CountTable<8, 14>;
/// 5.4b: time in force by calendar quarter.
pub type InForce = CountTable<4, 9>;
/// 5.5: entries, exits and faults by day since mating, for the curve.
pub type SinceMating = CountTable<4, 4>;
/// 5.4: faults as merged.
pub type FaultCounts = CountTable<7, 7>;
/// 5.3: rows by site and month.
pub type SiteMonths = CountTable<2, 3>;
/// Looks without a readable picture.
pub type Unreadable = CountTable<3, 1>;

/// All of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counts {
    pub visits: Visits,
    pub suppliers: Suppliers,
    pub work_orders: Clusters,
    pub site_days: Clusters,
    pub first_looks: FirstLooks,
    pub cycles: Cycles,
    pub cleanings: Cleanings,
    pub matings: Matings,
    pub mating_weeks: MatingWeeks,
    pub follow_up: FollowUp,
    pub in_force: InForce,
    pub since_mating: SinceMating,
    pub faults: FaultCounts,
    pub site_months: SiteMonths,
    pub unreadable: Unreadable,
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
const AFTER_FAULT: (&str, Dimension) = ("after_fault", Dimension::Words(NO_YES));

/// What is counted of visits.
const VISIT_MEASURES: [&str; 8] =
    ["visits", "looks", "clean", "contaminated", "defective", "unclear", "cleanings", "rejects"];

fn clusters(name: &'static str) -> Clusters {
    let number = |name| (name, Dimension::Number);
    CountTable::empty(
        name,
        [STAGE, FAMILY, SIDE, SITE, SUPPLIER, CAP, number("cluster_high"), number("cluster_low")],
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
            first_looks: CountTable::empty("first_looks", [WEEK, SITE], ["looks", "clean"]),
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
            mating_weeks: CountTable::empty("mating_weeks", [WEEK, COVERAGE], ["matings"]),
            follow_up: CountTable::empty(
                "follow_up",
                [
                    QUARTER,
                    SITE,
                    STAGE,
                    FAMILY,
                    ("criteria", Dimension::Criteria),
                    AFTER_FAULT,
                    COVERAGE,
                    ("band", Dimension::Number),
                ],
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
            cleanings: self.cleanings.merge(other.cleanings),
            matings: self.matings.merge(other.matings),
            mating_weeks: self.mating_weeks.merge(other.mating_weeks),
            follow_up: self.follow_up.merge(other.follow_up),
            in_force: self.in_force.merge(other.in_force),
            since_mating: self.since_mating.merge(other.since_mating),
            faults: self.faults.merge(other.faults),
            site_months: self.site_months.merge(other.site_months),
            unreadable: self.unreadable.merge(other.unreadable),
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
        self.cleanings.check()?;
        self.matings.check()?;
        self.mating_weeks.check()?;
        self.follow_up.check()?;
        self.in_force.check()?;
        self.since_mating.check()?;
        self.faults.check()?;
        self.site_months.check()?;
        self.unreadable.check()
    }
}
