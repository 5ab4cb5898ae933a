//! The results of 5.13.

use crate::measures::results::{Money, results, words};

results! {
    /// Where the minutes for looks should go, and where a sample is enough.
    table "looks_plan";

    /// What the plan of looks is grouped by.
    pub enum By {
        Fleet = "fleet",
        SiteStageFamily = "site+stage+family",
        Supplier = "supplier",
    }

    /// What the plan of looks tells.
    pub enum Quantity {
        /// What looking at one more end before mating saves, less what the look and what it brings cost; n are ends a year.
        SavingPerLook = "saving-per-look" [Money],
        /// What the allocation saves in a month more than the present one.
        Gain = "gain-a-month" [Money],
        /// Share of first recorded looks that are dirty, of a supplier over the quarters looked back.
        DirtyOnReceipt = "dirty-on-receipt" [Share],
    }

    /// What the plan of looks adds to its estimates.
    pub struct Own {
        /// What is to be done with the cell's looks.
        advice: Option<Advice>,
        /// Minutes of one look, with the cleanings that it brings and the looks after them.
        minutes: Option<f64> [Number],
        /// What an hour of looking there saves: the saving of a look over its minutes.
        saving_per_hour: Option<Money>,
        /// Ends looked at in a month, as it is.
        looks_now: Option<f64> [Count],
        /// Ends looked at in a month by the plan.
        looks_planned: Option<f64> [Count],
        /// Ends mated in a month.
        ends: Option<f64> [Count],
        /// Share of the draws in which the best allocation gives the cell more than it has.
        more_often: Option<f64> [Share],
        /// Share of the draws in which it gives the cell less.
        less_often: Option<f64> [Share],
        /// Chance that looking at everything costs more than it saves.
        costs_more: Option<f64> [Probability],
        /// Share of routine first looks that are dirty there.
        dirty: Option<f64> [Share],
        /// Share of dirty ends at which looking at everything pays again.
        dirty_pays: Option<f64> [Share],
        /// Ends to look at in a month where a sample is enough; in a row of a supplier, of a lot.
        sample: Option<u64> [Count],
        /// Most dirty ones among them without going back to looking at all.
        accept: Option<u64> [Count],
        /// Months in which the sample is drawn once.
        sample_months: Option<f64> [Months],
        /// Place by saving an hour, 1 for the largest; only firm rows have one.
        rank: Option<i64> [Count],
        /// Minutes a month that the plan spends; in the fleet's row.
        budget: Option<f64> [Number],
        /// Minutes a month that are spent now; in the fleet's row.
        spent: Option<f64> [Number],
        /// Ends of a usual lot of the supplier: those of a work order.
        lot: Option<u64> [Count],
        /// How severely its next lot is looked at.
        regime: Option<Severity>,
        /// Acceptable quality that lots are held to.
        acceptable: Option<f64> [Share],
    }
}

words! {
    /// What is to be done with the looks of a cell.
    pub enum Advice {
        /// As it is: too little is known, or it is where it should be.
        Keep = "keep",
        /// More looks.
        More = "more",
        /// Fewer looks.
        Less = "less",
        /// A sample is enough, as long as it does not give the alarm.
        Sample = "sample",
    }
}

words! {
    /// How severely the next lot of a supplier is looked at.
    pub enum Severity {
        /// The listed plan, with fewer ends where the rules of the operator allow it.
        Reduced = "reduced",
        /// The listed plan.
        Normal = "normal",
        /// The listed plan of the next better quality.
        Tightened = "tightened",
    }
}

impl Table {
    /// The cells, in their order.
    pub fn cells(&self) -> impl Iterator<Item = &Row> {
        self.rows_of(By::SiteStageFamily, Quantity::SavingPerLook)
    }

    /// The row of the fleet's gain.
    pub fn gain(&self) -> Option<&Row> {
        self.rows_of(By::Fleet, Quantity::Gain).next()
    }
}
