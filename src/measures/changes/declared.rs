//! The results of 5.9.

use crate::measures::results::{results, words};

results! {
    /// What has changed since the quarter before, and since the same quarter a year before.
    table "changes";

    /// What changes are grouped by.
    pub enum By {
        Fleet = "fleet",
        Stage = "stage",
        Family = "family",
        StageFamily = "stage+family",
        Site = "site",
        Side = "side",
        Supplier = "supplier",
    }

    /// What may have changed.
    pub enum Quantity {
        /// Share of routine visits whose first look passes, less that of the earlier quarter.
        FirstPass = "first-pass-clean" [Difference],
        /// Share of contaminated end faces that pass at the first cleaning cycle, less that of the earlier quarter.
        FirstCycle = "passed-first-cycle" [Difference],
        /// Share of matings made with one or both ends unseen, less that of the earlier quarter.
        Skipped = "skipped" [Difference],
        /// First linked faults per connection-month in force, over those of the earlier quarter.
        FaultRate = "faults-per-1000-months" [Ratio],
    }

    /// What changes add to their estimates.
    pub struct Own {
        /// Which earlier quarter it is compared with.
        against: Against,
        /// The earlier quarter.
        quarter: String [Time],
        /// The share, or the rate per 1,000 connection-months, in the period.
        value: Option<f64> [Number],
        /// Units or connection-months of the earlier quarter.
        n_before: f64 [Number],
        /// Events of the earlier quarter.
        events_before: u64 [Count],
        /// The share, or the rate per 1,000 connection-months, in the earlier quarter.
        value_before: Option<f64> [Number],
        /// Chance of a change at least as large where nothing changed, two-sided.
        p: f64 [Probability],
        /// Share of false ones to be expected among the firm comparisons of its list with this quarter that are at least as sure; the fleet's own changes are a list, all others another.
        q: Option<f64> [Probability],
        /// Design effect of the period's clusters, never below 1; of shares.
        deff: Option<f64> [Ratio],
        /// Design effect of the earlier quarter's clusters, never below 1; of shares.
        deff_before: Option<f64> [Ratio],
        /// Clusters of the period: work orders or site-days of first looks, else site-weeks; blocks of a site where luck lasts longer, and of rates.
        clusters: u64 [Count],
        /// Clusters of the earlier quarter.
        clusters_before: u64 [Count],
        /// How much more the faults of a site's blocks of time scatter than chance, as a ratio of variances; of rates.
        phi: Option<f64> [Ratio],
        /// Share of the matings that are left out since their names stand apart from those of looks; of two quarters the larger.
        apart: Option<f64> [Share],
    }
}

words! {
    /// The earlier quarter that a period is compared with.
    pub enum Against {
        /// The quarter before the period.
        QuarterBefore = "quarter-before",
        /// The same quarter a year before.
        YearBefore = "year-before",
    }
}
