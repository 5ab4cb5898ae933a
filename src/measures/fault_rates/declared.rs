//! What the question of fault rates answers with.

use crate::by;
use crate::derive::counts::{Family, Has, QuarterNo, Site, Stage};
use crate::derive::{ByColumns, Definition};
use crate::measures::results::{results, words};
use crate::stats::{BLOCK_WEEKS, that_tell};

results! {
    /// How often contamination-linked faults occur, and what they cost.
    table "fault_rates";

    /// What fault rates are grouped by.
    pub enum By {
        Fleet = "fleet",
        Stage = "stage",
        Family = "family",
        StageFamily = "stage+family",
        Site = "site",
        Quarter = "quarter",
    }

    /// What fault rates tell.
    pub enum Quantity {
        /// First faults per 1,000 matings by the horizon: the cumulative hazard, over bands of follow-up.
        PerMatings = "faults-per-1000-matings" [PerThousandMatings],
        /// First faults per 1,000 connection-months in force; n are connection-months.
        PerMonths = "faults-per-1000-months" [PerThousandMonths],
        /// First linked faults per 10^9 connection-hours in force; n are connection-months.
        Fit = "fit" [Fit],
        /// Rate of linked faults per time in force over that of the rest of the fleet; n are connection-months.
        RatioToRest = "ratio-to-rest" [Ratio],
        /// Cost of all linked faults of the period, not only the first; what their tickets do not state is put in by means of what others do.
        FaultCost = "fault-cost" [Money],
        /// Mean time from opening to clearing of linked faults; where some are still open, up to the longest seen. n are both,
        /// events those that were cleared.
        RestoreHours = "restore-hours" [Hours],
        /// Hours out of service as the linked faults state them; n are all linked faults, events those that state any.
        DowntimeHours = "downtime-hours" [Hours],
        /// Time by which a quarter of the linked faults are cleared.
        RestoreLowerQuartile = "restore-hours-lower-quartile" [Hours],
        /// Time by which half of the linked faults are cleared.
        RestoreMedian = "restore-hours-median" [Hours],
        /// Time by which three quarters of the linked faults are cleared.
        RestoreUpperQuartile = "restore-hours-upper-quartile" [Hours],
        /// Linked faults of a site per 1,000 connection-months, if it had the fleet's mix of stages and families.
        Standardised = "standardised-per-1000-months" [PerThousandMonths],
        /// Variance between blocks of a site over that of chance, of faults by the horizon; n are blocks.
        DispersionByHorizon = "dispersion-by-horizon" [Ratio],
        /// Variance between blocks of a site over that of chance, of faults in force; n are blocks.
        DispersionInForce = "dispersion-in-force" [Ratio],
        /// Linked faults per 1,000 matings by a day since mating, first or not.
        MeanCumulative = "mean-cumulative-faults" [PerThousandMatings],
        /// Share of linked faults that were not the first of their mating.
        RepeatFaults = "repeat-faults" [Share],
        /// Power of the time in force with which linked faults add up over the quarters; 1 is no trend.
        RateGrowth = "rate-growth" [Ratio],
        /// Whether the rate of linked faults changes over the quarters: Laplace's statistic, squared.
        RateTrend = "rate-trend" [ChiSquare],
    }

    /// What fault rates add to their estimates.
    pub struct Own {
        /// How surely the faults are linked to contamination.
        level: Certainty,
        /// Connection-months of follow-up or in force behind the rate.
        months: Option<f64> [Months],
        /// By how much the interval multiplies variances for the scatter of the blocks, never below 1.
        phi: Option<f64> [Ratio],
        /// Chance of as much scatter without clustering; in rows of a ratio or a trend, of as large a ratio or trend.
        p: Option<f64> [Probability],
        /// Expected share of false ones among ratios of the grouping with this p or less.
        q: Option<f64> [Probability],
        /// How long a block of a site is that the scatter rests on: as long as the luck of sites lasts.
        block: Option<Block>,
        /// Blocks that the scatter rests on (sites where weeks were too many to be kept); quarters, in rows of a trend.
        clusters: Option<u64> [Count],
        /// Share of the fleet's mix of stages and families that the site has.
        weight: Option<f64> [Share],
        /// In rows of cost: share of the tickets that state no price.
        unpriced: Option<f64> [Share],
        /// Days since mating.
        day: Option<u32> [Days],
        /// Matings still followed on that day.
        at_risk: Option<u64> [Count],
    }
}

words! {
    /// How surely faults are linked to contamination.
    pub enum Certainty {
        /// The cause says contamination, or no cause is known and cleaning restored service.
        Linked = "linked",
        /// The cause says contamination.
        Confirmed = "confirmed",
        /// Linked, or no fault was found but cleaning or reseating ended it.
        Suspect = "suspect",
    }
}

words! {
    /// Blocks of a site's time, within which faults share their luck; as long as [`BLOCK_WEEKS`] says.
    pub enum Block {
        /// A week.
        Week = "week",
        /// Four weeks.
        Month = "month",
        /// Thirteen weeks, or the part of a quarter that a review is of.
        Quarter = "quarter",
    }
}

impl Block {
    /// The block of a week: weeks of one quarter are counted apart where a table has quarters.
    pub(in crate::measures) fn of_week(self, week: u32) -> u32 {
        week / BLOCK_WEEKS[self as usize]
    }

    /// What it is of the sites of a fleet, in words.
    pub(in crate::measures) fn of_sites(self) -> &'static str {
        match self {
            Block::Week => "site-weeks",
            Block::Month => "four weeks of a site",
            Block::Quarter => "quarters of a site",
        }
    }

    /// What blocks of this length come to, or the longest shorter ones that tell enough; and which that are.
    pub(in crate::measures) fn that_tell<T>(
        self,
        of: impl Fn(Block) -> T,
        tells: impl Fn(Block, &T) -> bool,
    ) -> (T, Block) {
        let (found, at) = that_tell(
            self as usize,
            |at| of(Block::ALL[at]),
            |at, found| tells(Block::ALL[at], found),
        );
        (found, Block::ALL[at])
    }
}

impl Certainty {
    /// Which first faults of the count tables it is.
    pub(in crate::measures) fn definition(self) -> Definition {
        match self {
            Certainty::Linked => Definition::Linked,
            Certainty::Confirmed => Definition::Confirmed,
            Certainty::Suspect => Definition::Suspect,
        }
    }
}

impl By {
    /// The columns of a count table that it stands for.
    pub(in crate::measures) fn columns<T>(self) -> ByColumns<T>
    where
        T: Has<QuarterNo> + Has<Site> + Has<Stage> + Has<Family>,
    {
        match self {
            By::Fleet => by!(),
            By::Stage => by!(Stage),
            By::Family => by!(Family),
            By::StageFamily => by!(Stage, Family),
            By::Site => by!(Site),
            By::Quarter => by!(QuarterNo),
        }
    }
}
