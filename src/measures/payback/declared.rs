//! The results of 5.8.

use super::purse::Pool;
use crate::measures::results::{Money, results, words};

results! {
    /// Whether a purchase would pay for itself.
    table "payback";

    /// What payback is grouped by.
    pub enum By {
        Proposal = "proposal",
        ProposalInput = "proposal+input",
        ProposalPool = "proposal+pool",
        ProposalPoolFamily = "proposal+pool+stage+family",
        ProposalMonth = "proposal+month",
        Set = "set",
    }

    /// What payback tells.
    pub enum Quantity {
        /// What a proposal is worth now: discounted savings over its life less running cost and price.
        NetPresentValue = "net-present-value" [Money],
        /// Price of a unit at which the proposal would be worth nothing.
        BreakEvenPrice = "break-even-price" [Money],
        /// What it saves in a year, before its running cost.
        Saving = "saving-a-year" [Money],
        /// What it saves in a year in one of the pools that money goes into, negative where it spends there: of one proposal they
        /// add up to its saving. Looks one stage earlier are there by stage and family too, which add up to their pool.
        PartOfSaving = "part-of-saving" [Money],
        /// The same sum every year of its life that would be worth as much.
        Equivalent = "equivalent-a-year" [Money],
        /// Rate of a year at which it would be worth nothing: half of the draws have a higher one; empty where too few of them
        /// pay back anything, or where nothing is paid at the start.
        InternalRate = "internal-rate" [GrowthAYear],
        /// First linked faults that it avoids in a year.
        FaultsAvoided = "faults-avoided-a-year" [Count],
        /// Hours of downtime that it avoids in a year.
        DowntimeAvoided = "downtime-avoided-a-year" [Hours],
        /// Share of the draws in which it pays back within its life.
        PaysBack = "pays-back" [Share],
        /// Month in which the discounted savings have paid back the price; empty where that is never.
        PaybackMonth = "payback-month" [Months],
        /// Discounted cash summed up to the end of a month.
        Cash = "cash" [Money],
        /// What it is worth with all inputs at their means; low and high are at the ends of one input.
        Tornado = "tornado" [Money],
        /// What the best set of proposals for a sum is worth.
        Ladder = "ladder" [Money],
        /// What the best set within the budget is worth.
        BestSet = "best-set" [Money],
    }

    /// What payback adds to its estimates.
    pub struct Own {
        /// Name of the proposal.
        proposal: Option<String>,
        /// Price of all units, or of the set.
        price: Option<Money>,
        /// Units that are bought.
        units: Option<u32> [Count],
        /// What it changes.
        what: Option<String>,
        /// Where that is.
        places: Option<String>,
        /// How long it works.
        life_months: Option<u32> [Months],
        /// What money goes into there.
        pool: Option<Pool>,
        /// What goes into it in a year at the places of the proposal, with all inputs at their means.
        pool_money: Option<Money>,
        /// The part of it that is saved; negative where it is spent.
        kept_out: Option<f64> [Number],
        /// How many more looks there are in a year.
        times: Option<f64> [Number],
        /// Price of one of them, in the currency.
        each: Option<f64> [Number],
        /// The uncertain number that a row moves.
        input: Option<String>,
        /// Unit of that number; empty where it has none.
        input_unit: Option<InputUnit>,
        /// Where that number comes from.
        source: Option<Source>,
        /// Lower end of that number's interval.
        input_low: Option<f64> [Number],
        /// Upper end of that number's interval.
        input_high: Option<f64> [Number],
        /// What the proposal is worth at the lower end.
        worth_at_low: Option<Money>,
        /// What the proposal is worth at the upper end.
        worth_at_high: Option<Money>,
        /// Month after the purchase.
        month: Option<u32> [Months],
        /// Names of the set's proposals.
        set: Option<String>,
        /// Place of the set by price, 1 for the cheapest.
        rung: Option<u32> [Count],
        /// What each thousand of the currency more than the set before buys.
        next_thousand: Option<Money>,
        /// Share of the draws in which the set is worth at least its price.
        probability: Option<f64> [Probability],
        /// Whether the set is the best one within the budget.
        chosen: Option<bool>,
        /// What may be spent.
        budget: Option<Money>,
        /// Why a proposal has no value.
        reason: Option<String>,
    }
}

words! {
    /// Unit of an uncertain number.
    pub enum InputUnit {
        /// A fraction of 1.
        Share = "share",
        /// Units of the fleet's currency, with hundredths.
        Money = "currency",
    }
}

words! {
    /// Where an uncertain number comes from.
    pub enum Source {
        /// Whoever proposes the purchase.
        Stated = "stated",
        /// The fleet's own contrast of cleaning methods.
        OddsRatio = "cycles: odds-ratio",
        /// The fleet's cost of skipped looks.
        SkippedCost = "skipped cost",
        /// The fleet's counts of cleanings by month.
        Counts = "counts by month",
        /// How the fleet's visits that began contaminated left, cycle by cycle.
        Cycles = "cycles",
        /// The fleet's counts of what was looked at.
        Coverage = "coverage",
        /// The fleet's first looks.
        FirstPass = "first pass",
        /// The fleet's hazards of dirt entering.
        Entry = "entry",
        /// What the fleet's carriers pass on.
        Carriers = "carriers",
        /// What went with an action here before.
        Actions = "actions",
    }
}
