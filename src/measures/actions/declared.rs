//! The results of 5.12.

use crate::measures::results::{Money, results, words};
use crate::settings::Target;

results! {
    /// Whether what was done was followed by a change, against where it was not done.
    table "actions";

    /// What actions are grouped by.
    pub enum By {
        Action = "action",
        ActionMonth = "action+month",
    }

    /// What actions tell.
    pub enum Quantity {
        /// Share since the start less the share that the other sites' change leads to expect; n are looks, cycles or matings since.
        Change = "change" [Difference],
        /// First linked faults since the start over those that the other sites' change leads to expect; n are connection-months since.
        Ratio = "ratio" [Ratio],
        /// What the change has been worth so far at these sites, prices taken as known.
        Worth = "worth" [Money],
    }

    /// What actions add to their estimates.
    pub struct Own {
        /// Name of the action.
        action: Option<String>,
        /// What it should move.
        moves: Option<Moves>,
        /// What is compared with what.
        reading: Option<Reading>,
        /// Months since the start; below 0 before it. In a row of one month alone.
        month: Option<i64> [Months],
        /// Chance of a difference as large, either way, if the starts had fallen on the sites at random and nothing had changed.
        p: Option<f64> [Probability],
        /// The smallest such chance that this number of sites allows.
        smallest_p: Option<f64> [Probability],
        /// Level of the interval: that of the settings, or what the number of sites allows.
        interval_level: Option<f64> [Probability],
        /// Arrangements of the starts over the sites that it is compared with, itself among them.
        arrangements: Option<u64> [Count],
        /// Sites at which it was done, with records before and since.
        sites: Option<u64> [Count],
        /// Sites that it is compared with at some time.
        other_sites: Option<u64> [Count],
        /// Months of these sites since the start that count.
        site_months: Option<u64> [Count],
        /// The share at these sites in the months before, or their faults over those expected.
        before: Option<f64> [Number],
        /// Chance of months before the start that differ as much from the others, if the starts had fallen at random.
        parallel_p: Option<f64> [Probability],
        /// Chance of a last quarter before the start as bad, by the sites' own history and the other sites.
        chosen_p: Option<f64> [Probability],
        /// The last quarter before the start against the year before it and the other sites: a difference of shares, or a ratio.
        quarter_before: Option<f64> [Number],
        /// Other actions with the same aim at the same sites, in force in some of the months compared.
        also: Option<String>,
        /// What it has cost so far.
        cost: Option<Money>,
        /// Name of the proposal that it carried out.
        proposal: Option<String>,
        /// What the proposal promises for as many months, before its price and running cost.
        promised: Option<Money>,
        /// Months since the first start, whole.
        months: Option<i64> [Months],
        /// Why there is no estimate.
        reason: Option<Reason>,
    }
}

words! {
    /// What an action should move.
    pub enum Moves {
        /// Share of routine first looks that pass.
        FirstPass = "first-pass",
        /// Share of first cleaning cycles that pass.
        PassedFirstCycle = "passed-first-cycle",
        /// Share of matings of known coverage made with an end unseen.
        Skipped = "skipped",
        /// First linked faults for the time at risk, by the month of the mating, complete follow-up only.
        LinkedFaults = "linked-faults",
    }
}

words! {
    /// What a row compares.
    pub enum Reading {
        /// All months since the start with the year before it.
        Whole = "whole",
        /// The same without the quarter before the start.
        WithoutQuarter = "without-quarter",
        /// The half year before the start with the year before that, as if it had begun then: nothing should show.
        Placebo = "placebo",
        /// As whole, with the sites resampled in place of their starts rearranged.
        Resampled = "resampled",
        /// One month with the year before the start.
        Month = "month",
        /// The fleet's own months, before and since: all sites began at once.
        Series = "series",
    }
}

words! {
    /// Why an action has no estimate.
    pub enum Reason {
        /// It had not begun, or its first whole month is not over.
        NotBegun = "not-begun",
        /// There are no records of these places from before it began.
        NothingBefore = "nothing-before",
        /// There are no records of these places since it began, of faults none with a complete follow-up.
        NothingSince = "nothing-since",
        /// All sites began at once, with fewer than four months on either side.
        TooShort = "too-short",
    }
}

impl Moves {
    /// Of the settings' target.
    pub fn of_target(target: Target) -> Moves {
        match target {
            Target::FirstPass => Moves::FirstPass,
            Target::PassedFirstCycle => Moves::PassedFirstCycle,
            Target::Skipped => Moves::Skipped,
            Target::LinkedFaults => Moves::LinkedFaults,
        }
    }

    /// Whether more of it is better.
    pub fn more_is_better(self) -> bool {
        matches!(self, Moves::FirstPass | Moves::PassedFirstCycle)
    }

    /// The quantity of its estimate.
    pub fn quantity(self) -> Quantity {
        match self {
            Moves::LinkedFaults => Quantity::Ratio,
            _ => Quantity::Change,
        }
    }
}

impl Table {
    /// The leading row of every action and aim.
    pub fn leading_rows(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(|row| {
            row.by == By::Action
                && row.quantity != Quantity::Worth
                && (row.own.reading == Some(Reading::Whole)
                    || row.own.reading == Some(Reading::Series)
                    || row.own.reason.is_some())
        })
    }

    /// Another reading of what a row is about.
    pub fn reading(&self, of: &Row, reading: Reading) -> Option<&Row> {
        let mut rows = self.rows.iter().filter(|row| row.by == By::Action);
        rows.find(|row| {
            row.own.action == of.own.action
                && row.own.moves == of.own.moves
                && row.own.reading == Some(reading)
                && row.quantity == of.quantity
        })
    }

    /// What the change of a row has been worth.
    pub fn worth(&self, of: &Row) -> Option<&Row> {
        let mut rows = self.rows_of(By::Action, Quantity::Worth);
        rows.find(|row| row.own.action == of.own.action && row.own.moves == of.own.moves)
    }

    /// The months of a row, oldest first.
    pub fn months(&self, of: &Row) -> impl Iterator<Item = &Row> {
        self.rows_of(By::ActionMonth, of.quantity)
            .filter(move |row| row.own.action == of.own.action && row.own.moves == of.own.moves)
    }
}
