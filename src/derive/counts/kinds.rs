//! What each count table is: how many dimensions it has and figures it holds, and the words of the
//! dimensions that have their own.

use super::table::CountTable;

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
/// First looks by work order or site-day (5.1's design effect), of the period and of the quarters
/// that it is compared with (5.9).
pub type Clusters = CountTable<9, 2>;
/// 5.1 over time: routine first looks by week, and by site-week for the trend's design effect.
pub type FirstLooks = CountTable<3, 2>;
/// 5.2: how visits that began contaminated left, by cycle.
pub type Cycles = CountTable<7, 5>;
/// 5.2: what cycles and cleanings did, by method.
pub type Cleanings = CountTable<5, 8>;
/// 5.3.
pub type Matings = CountTable<5, 4>;
/// 5.4a and 5.5: follow-up by band.
pub type FollowUp = CountTable<8, 14>;
/// 5.4b: time in force by calendar quarter.
pub type InForce = CountTable<4, 9>;
/// 5.5: entries, exits and faults by day since mating, for the curve.
pub type SinceMating = CountTable<4, 4>;
/// 5.5's clusters: the follow-up of the look-back by the week of the mating.
pub type SiteWeeks = CountTable<8, 5>;
/// 5.5's sensitivity: the same follow-up under other rules.
pub type Variants = CountTable<8, 5>;
/// 5.4: faults as merged.
pub type FaultCounts = CountTable<7, 7>;
/// 5.3: rows by site and month.
pub type SiteMonths = CountTable<2, 3>;
/// Looks without a readable picture.
pub type Unreadable = CountTable<3, 1>;
