//! What first pass answers with.

use crate::derive::counts::VisitRow;
use crate::measures::fault_rates::Block;
use crate::measures::results::{results, words};

results! {
    /// How clean end faces arrive.
    table "first_pass";

    /// What first pass is grouped by.
    pub enum By {
        Fleet = "fleet",
        Stage = "stage",
        Family = "family",
        StageFamily = "stage+family",
        Side = "side",
        Site = "site",
        Capped = "capped",
        StageCapped = "stage+capped",
        Supplier = "supplier",
        VisitKind = "visit_kind",
        Quarter = "quarter",
        Week = "week",
    }

    /// What first pass tells.
    pub enum Quantity {
        /// Share of visits whose first look passes, of those that begin with a look: routine visits, but by kind of visit.
        Clean = "first-pass-clean" [Share],
        /// The share of a site drawn towards the mean site's, the more the less is known of it.
        SiteRanked = "site-ranked" [Share],
        /// The share of a site; low and high are the limits at its effective size that one in 500 alike sites passes.
        SiteFunnel = "site-funnel" [Share],
        /// How much more sites differ than chance alone makes them, as a ratio of variances; n are sites.
        FunnelDispersion = "funnel-dispersion" [Ratio],
        /// Limits around the mean share that hold 95 % of alike sites of this effective size.
        FunnelInner = "funnel-limits-inner" [Share],
        /// Limits around the mean share that hold 99.8 % of alike sites of this effective size.
        FunnelOuter = "funnel-limits-outer" [Share],
        /// The share of a week; low and high are the limits of the p-prime chart.
        Week = "first-pass-week" [Share],
    }

    /// What first pass adds to its estimates.
    pub struct Own {
        /// Kind of visit, in rows by it.
        visit_kind: Option<VisitKind>,
        /// Design effect of work orders or site-days, of longer blocks where luck lasts longer (of site-weeks or longer
        /// ones, in rows of a quarter), never below 1.
        deff: Option<f64> [Ratio],
        /// How long a block of a site is that the interval rests on, as long as luck lasts; empty for work orders.
        block: Option<Block>,
        /// Work orders, site-days or blocks that the interval rests on; where a row has few blocks, those of all sites.
        clusters: Option<u64> [Count],
        /// Share of visits that began with a cleaning nobody looked before.
        cleaned_unseen: Option<f64> [Share],
        /// First looks that failed for dirt.
        contaminated: Option<i64> [Count],
        /// First looks that failed for a defect.
        defective: Option<i64> [Count],
        /// First looks that failed, and the record does not say for what.
        unclear: Option<i64> [Count],
        /// The mean that funnel or chart are drawn around.
        centre: Option<f64> [Share],
        /// What makes a site or week stand out, where it does.
        signal: Option<Signal>,
        /// First looks over the design effect.
        n_effective: Option<f64> [Number],
        /// How far a site lies from the mean, in standard deviations of alike sites.
        distance: Option<f64> [Number],
        /// Mean rank of the site over what its share may be, 1 for the lowest.
        expected_rank: Option<f64> [Number],
        /// Place by expected rank, 1 for the lowest; only firm rows have one.
        rank: Option<i64> [Count],
        /// Chance that the site lies below the mean site.
        probability: Option<f64> [Probability],
    }
}

words! {
    /// Kinds of visit; a visit is of the first that fits.
    pub enum VisitKind {
        /// Of a lens that no tool reaches and that touches nothing.
        Recessed = "recessed",
        /// Within a day of a fault there, or on the work order of one.
        Prompted = "prompted",
        /// A second visit at the same stage with no lasting mating between.
        Again = "again",
        /// All others: what the headline counts.
        Routine = "routine",
    }
}

impl From<VisitRow> for VisitKind {
    fn from(row: VisitRow) -> Self {
        match row {
            VisitRow::Recessed => VisitKind::Recessed,
            VisitRow::Prompted => VisitKind::Prompted,
            VisitRow::Again => VisitKind::Again,
            VisitRow::Routine => VisitKind::Routine,
        }
    }
}

words! {
    /// What makes a site or a week stand out.
    pub enum Signal {
        /// A site below the outer limits of the funnel.
        BelowLimits = "below the limits",
        /// A site above the outer limits of the funnel.
        AboveLimits = "above the limits",
        /// A week beyond three standard deviations.
        BeyondLimits = "beyond the limits",
        /// Two of three weeks beyond two standard deviations on one side.
        TwoOfThree = "two of three far out",
        /// Four of five weeks beyond one standard deviation on one side.
        FourOfFive = "four of five on one side",
        /// Eight weeks in a row on one side of the mean.
        EightInARow = "eight in a row on one side",
    }
}
