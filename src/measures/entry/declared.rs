//! What entry answers with: its groupings, quantities, words and columns.

use std::fmt;

use crate::derive::counts::PassageKind;
use crate::measures::results::{Held, Money, Unit, results, words};

results! {
    /// Between which stages of the lifecycle dirt enters.
    table "entry";

    /// What entry is grouped by.
    pub enum By {
        Step = "from+stage",
        StepCapped = "from+stage+capped",
        StepFamily = "from+stage+family",
        Fleet = "fleet",
        Reason = "reason",
    }

    /// What entry tells.
    pub enum Quantity {
        /// Chance that dirt enters an end face on a step; n pass it, events are dirty after it.
        Entry = "entry" [Share],
        /// The same, what looks falsely call dirty taken away.
        EntryLessAlarms = "entry-less-alarms" [Share],
        /// Hazard of capped end faces over that of uncapped ones, alike on every step.
        CapFactor = "cap-factor" [Ratio],
        /// Test statistic of whether capped and uncapped end faces differ on any step; n are its degrees of freedom.
        CapSplit = "cap-split" [ChiSquare],
        /// Share of all dirt that enters first on a step; n are dirty passages.
        ShareOfDirt = "share-of-dirt" [Share],
        /// What one percentage point less of dirt on a step would have saved over the months looked back.
        PointSaving = "point-saving" [Money],
        /// Share of looks within an hour after a passing one, nothing between, that failed for dirt.
        FalseAlarm = "false-alarm" [Share],
        /// Chance that dirt enters with one mating between two visits.
        PerMating = "per-mating" [Share],
        /// Chance that dirt enters with one month (of 730.5 hours) between two visits.
        PerMonth = "per-month" [Share],
        /// Share of pairs of visits of one end face that are passages of this kind, or why they are none.
        Passages = "passages" [Share],
    }

    /// What entry adds to its estimates.
    pub struct Own {
        /// Stage that the row's steps begin at.
        from: Option<String>,
        /// Steps in words: `a to b`, or `again at b` between two visits of one stage; joined by + where they are always passed together.
        steps: Option<Steps>,
        /// Why the row is not of one step with a value, or what became of its pairs of visits.
        reason: Option<Reason>,
        /// Hazard of dirt: minus the logarithm of the chance that none enters.
        hazard: Option<f64> [Number],
        /// Lower end of its interval.
        hazard_low: Option<f64> [Number],
        /// Upper end of its interval.
        hazard_high: Option<f64> [Number],
        /// Design effect of site-weeks, of longer blocks where luck lasts longer, that widens the interval, never below 1.
        deff: Option<f64> [Ratio],
        /// Site-weeks, or longer blocks where luck lasts longer, with passages of the steps.
        clusters: Option<u64> [Count],
        /// P value of a factor of 1, of no difference between capped and uncapped, or of no dirt per mating or month.
        p: Option<f64> [Probability],
        /// Part of the saving that is cleaning: cleanings, looks and rejects of end faces that are looked at.
        cleaning_cost: Option<Money>,
        /// Part of the saving that is faults of end faces that nobody looks at, as far as they are associated with that.
        downstream_cost: Option<Money>,
        /// Place by saving, 1 for the largest; only firm rows have one.
        rank: Option<i64> [Count],
        /// Share of all ranked steps' savings that this and the better ranked have.
        running_share: Option<f64> [Share],
        /// Share of resamples in which the step is among the three with the largest saving.
        top_three: Option<f64> [Probability],
        /// Share of resamples in which the step has the largest saving.
        probability: Option<f64> [Probability],
    }
}

words! {
    /// Why a row is not of one step with a value, or what became of a pair of visits.
    pub enum Reason {
        /// Every passage of the steps passes a neighbouring one too, so their chances cannot be told apart.
        NotParted = "no passage parts it from its neighbours",
        /// Every passage of one of the steps passes the others too; the row is of all of them.
        Summed = "always passed together: their sum",
        /// The saving lacks the faults of ends that nobody looked at: skipped looks have no rate ratio.
        CleaningAlone = "cleaning alone: skipped looks have no ratio",
        /// A passage that is counted: known clean at its beginning, ended by a look, no fault behind it.
        Routine = "routine",
        /// A passage whose later look a fault prompted; not counted.
        Prompted = "prompted",
        /// The earlier visit did not end with a passing look.
        NotKnownClean = "not-known-clean",
        /// The later visit began with a cleaning that nobody looked before.
        CleanedUnseen = "cleaned-unseen",
        /// The later look failed for a defect, or the record does not say for what.
        FailedOtherwise = "failed-otherwise",
        /// The later visit is at an earlier stage of the lifecycle.
        ToAnEarlierStage = "to-an-earlier-stage",
    }
}

impl From<PassageKind> for Reason {
    fn from(kind: PassageKind) -> Reason {
        match kind {
            PassageKind::Routine => Reason::Routine,
            PassageKind::Prompted => Reason::Prompted,
            PassageKind::NotKnownClean => Reason::NotKnownClean,
            PassageKind::CleanedUnseen => Reason::CleanedUnseen,
            PassageKind::FailedOtherwise => Reason::FailedOtherwise,
            PassageKind::ToAnEarlierStage => Reason::ToAnEarlierStage,
        }
    }
}

/// A step of the lifecycle: from one stage to the next, or from one visit of a stage to its next.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Step {
    /// Stage of the earlier visit.
    pub from: String,
    /// Stage of the later visit; the same for a repeat.
    pub to: String,
}

impl Step {
    /// Whether it lies between two visits of one stage.
    pub fn is_repeat(&self) -> bool {
        self.from == self.to
    }
}

/// "incoming to installation", "again at installation".
impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let Step { from, to } = self;
        if self.is_repeat() { write!(f, "again at {to}") } else { write!(f, "{from} to {to}") }
    }
}

/// One step, or several that are always passed together, in the order of the lifecycle.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Steps(pub Vec<Step>);

/// Its steps joined by " + ".
impl fmt::Display for Steps {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        for (place, step) in self.0.iter().enumerate() {
            let between = if place == 0 { "" } else { " + " };
            write!(f, "{between}{step}")?;
        }
        Ok(())
    }
}

impl Held for Steps {
    type Cell = String;
    const UNIT: Option<Unit> = Some(Unit::Word);

    fn cell(&self) -> Option<String> {
        Some(self.to_string())
    }
}
