//! Count tables whose cells are small enough to serve as clusters: site-weeks of matings and of
//! cleaning cycles.

use super::table::{CountTable, Dimension};

/// Zones of an end face (IEC 61300-3-35); code 0 is not recorded.
pub const ZONES: &[&str] = &["unknown", "A", "B", "C", "D"];
/// Cycles from this one on are counted together: few reach it, and nothing reads them apart.
pub const MOST_CYCLES: u32 = 20;

/// What is counted of matings by cluster: all, those of known coverage, and by class.
pub const COVERED: [&str; 8] =
    ["matings", "known", "skipped", "both", "one", "none", "despite-fail", "unknown"];

/// 5.3 over time: matings of every site-week.
pub type MatingWeeks = CountTable<2, 8>;
/// 5.3's intervals: matings by site-week, with the reseats of each class, of the period and of the
/// quarters that it is compared with (5.9).
pub type MatingClusters = CountTable<5, 13>;
/// 5.2's regression: cycles made and passed by what may explain them, within site-weeks; and how their
/// visits left, for the resamples of the stopping rule.
pub type CycleTrials = CountTable<8, 9>;

/// An empty table of [`MatingWeeks`].
pub fn mating_weeks() -> MatingWeeks {
    CountTable::empty(
        "mating_weeks",
        [("week", Dimension::Week), ("site", Dimension::Site)],
        COVERED,
    )
}

/// An empty table of [`MatingClusters`].
pub fn mating_clusters() -> MatingClusters {
    let [all, known, skipped, both, one, none, despite_fail, unknown] = COVERED;
    CountTable::empty(
        "mating_clusters",
        [
            ("quarter", Dimension::Quarter),
            ("week", Dimension::Week),
            ("site", Dimension::Site),
            ("stage", Dimension::Stage),
            ("family", Dimension::Family),
        ],
        [
            all,
            known,
            skipped,
            both,
            one,
            none,
            despite_fail,
            unknown,
            "reseats-both",
            "reseats-one",
            "reseats-none",
            "reseats-despite-fail",
            "reseats-unknown",
        ],
    )
}

/// An empty table of [`CycleTrials`].
pub fn cycle_trials() -> CycleTrials {
    CountTable::empty(
        "cycle_trials",
        [
            ("quarter", Dimension::Quarter),
            ("week", Dimension::Week),
            ("site", Dimension::Site),
            ("stage", Dimension::Stage),
            ("family", Dimension::Family),
            ("zone", Dimension::Words(ZONES)),
            ("method", Dimension::Method),
            ("cycle", Dimension::Number),
        ],
        [
            "trials",
            "passed",
            "cleanings",
            "rejected",
            "left",
            // The same where no other method came before in the visit, as in the view by method.
            "same",
            "same_passed",
            "same_rejected",
            "same_left",
        ],
    )
}
