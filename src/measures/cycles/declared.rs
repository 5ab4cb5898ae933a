//! What the question of cycles answers with.

use crate::derive::counts::ZoneOf;
use crate::measures::results::{Described, Money, Word, results, words};

results! {
    /// How many cleaning cycles it takes until end faces pass, and when to stop cleaning.
    table "cycles";

    /// What cycles are grouped by; `treatment` is the cleaning method.
    pub enum By {
        Fleet = "fleet",
        Treatment = "treatment",
        Stage = "stage",
        Family = "family",
        Cycle = "cycle",
        Zone = "zone",
    }

    /// What cycles tell.
    pub enum Quantity {
        /// Share of visits that began contaminated and have passed by a cycle (Aalen-Johansen).
        PassedByCycle = "passed-by-cycle" [Share],
        /// Share of these visits rejected by a cycle, or found damaged once clean.
        RejectedByCycle = "rejected-by-cycle" [Share],
        /// Share of the end faces that come to a cycle and pass at it.
        Hazard = "hazard" [Share],
        /// The cycle by which half of these visits have passed.
        MedianCycles = "median-cycles" [Cycles],
        /// Chance of passing a cycle if it is the same for every end face and cycle.
        CommonChance = "common-chance" [Share],
        /// Mean chance of passing the first cycle if chances differ between end faces.
        MeanChance = "mean-chance" [Share],
        /// Chances that differ: an end face at its first cycle behaves as if so many cycles had passed before.
        ChanceA = "chance-a" [Cycles],
        /// Chances that differ: an end face at its first cycle behaves as if so many cycles had failed before.
        ChanceB = "chance-b" [Cycles],
        /// Likelihood ratio of chances that differ against one chance for all; n are cycles, p its chance under one for all.
        ChancesDiffer = "chances-differ" [Number],
        /// Share of each cycle that passes, by the fit of chances that differ.
        FittedHazard = "fitted-hazard" [Share],
        /// Share of passes that came after the third cycle.
        PassesBeyondThree = "passes-beyond-three" [Share],
        /// Share of passes that came after the fifth cycle.
        PassesBeyondFive = "passes-beyond-five" [Share],
        /// Share of cleanings made after the third cycle.
        CleaningsBeyondThree = "cleanings-beyond-three" [Share],
        /// Share of cleanings made after the fifth cycle.
        CleaningsBeyondFive = "cleanings-beyond-five" [Share],
        /// Share of the minutes of looks and cleanings spent after the third cycle; n and events are minutes.
        MinutesBeyondThree = "minutes-beyond-three" [Share],
        /// Share of the minutes of looks and cleanings spent after the fifth cycle; n and events are minutes.
        MinutesBeyondFive = "minutes-beyond-five" [Share],
        /// Cycles that the regression leaves out because their method, stage, family or zone is too rare; n are all cycles.
        CyclesLeftOut = "cycles-left-out" [Count],
        /// Odds of passing a cycle against the level in `against`, all else in the regression equal.
        OddsRatio = "odds-ratio" [Ratio],
        /// The same of methods without the tools that are listed as carriers.
        OddsRatioWithoutCarriers = "odds-ratio-without-carriers" [Ratio],
        /// Share that would have passed by a cycle if the method had been used on all end faces that were cleaned.
        AdjustedPassedByCycle = "adjusted-passed-by-cycle" [Share],
        /// Share of cycles closed by a look that failed for contamination.
        LeftContaminated = "left-contaminated" [Share],
        /// Share of clean end faces that failed the look after they were cleaned all the same.
        Soiled = "soiled" [Share],
        /// Share of visits that began with a cleaning before anybody had looked.
        CleanedUnseen = "cleaned-unseen" [Share],
        /// Cost of cleaning, before anybody had looked, what would have passed; n are visits begun so.
        NeedlessUnseenCost = "needless-unseen-cost" [Money],
        /// Cycles after which giving an end face up costs least; empty where the records never came to one that did not pay.
        StoppingLimit = "stopping-limit" [Cycles],
        /// Expected cost of an end face that is given up after so many cycles.
        CostAtLimit = "cost-at-limit" [Money],
        /// Expected cost of an end face that is given up as was observed.
        PresentCost = "present-cost" [Money],
        /// How much more that is than the cost at the advised limit; negative where it is less.
        PresentExcess = "present-excess" [Money],
        /// The same of all end faces that are cleaned in a year.
        PresentExcessYear = "present-excess-a-year" [Money],
    }

    /// What cycles add to their estimates.
    pub struct Own {
        /// Number of the cycle; in rows of the cost at a limit, the cycles after which end faces are given up.
        cycle: Option<u32> [Cycles],
        /// Visits or end faces that come to the cycle; in rows of adjusted shares, the cycles made with the method.
        at_risk: Option<u64> [Count],
        /// How visits left failing are counted.
        bracket: Option<Bracket>,
        /// Share rejected by the cycle, beside the share passed.
        rejected: Option<f64> [Share],
        /// Zone of the end face that failed first, in rows by it.
        zone: Option<ZoneOf>,
        /// The level that an odds ratio compares with.
        against: Option<String>,
        /// Names of the tools that are left out.
        left_out: Option<String>,
        /// Chance of as large a likelihood ratio if all end faces had one chance of passing.
        p: Option<f64> [Probability],
        /// Cycles that pay, where these records come to no cycle that does not; the best limit is no lower.
        at_least: Option<u32> [Cycles],
        /// The best limit with chances continued by the fit beyond what was observed.
        extended: Option<u32> [Cycles],
        /// The advice: fewest cycles that the records reach whose cost lies within the interval of the least.
        advised: Option<u32> [Cycles],
        /// Most of them.
        flat_to: Option<u32> [Cycles],
        /// Share of resamples in which the limit is the best of those that the records reach.
        chosen: Option<f64> [Share],
        /// Cost of the limit over that of the best that the records reach.
        excess: Option<Money>,
        /// Lower end of its interval.
        excess_low: Option<Money>,
        /// Upper end of its interval.
        excess_high: Option<Money>,
        /// Cost of the looks that were saved by cleaning without one.
        looks_saved: Option<Money>,
    }
}

words! {
    /// How visits left failing are counted: the two bracket the truth.
    pub enum Bracket {
        /// As not known any more: they might have passed like the others.
        Censored = "censored",
        /// As given up: they would never have passed.
        Competing = "competing",
    }
}

impl Word for ZoneOf {
    const LIST: &'static [Described] = &[
        zone(ZoneOf::Unknown, "The record does not say."),
        zone(ZoneOf::Core, "Core."),
        zone(ZoneOf::Cladding, "Cladding."),
        zone(ZoneOf::Adhesive, "Adhesive."),
        zone(ZoneOf::Contact, "Contact."),
    ];

    fn place(self) -> usize {
        self as usize
    }
}

const fn zone(zone: ZoneOf, doc: &'static str) -> Described {
    Described { word: ZoneOf::WORDS[zone as usize], doc }
}
