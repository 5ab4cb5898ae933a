//! What skipped cost answers with: its groupings, quantities, words and columns.

use crate::derive::{Coverage, Definition, LAGS_HOURS, Variant};
use crate::measures::results::{Described, Money, Word, results, words};

results! {
    /// What skipped inspections cost, and where most.
    table "skipped_cost";

    /// What skipped cost is grouped by.
    pub enum By {
        Fleet = "fleet",
        Stage = "stage",
        Family = "family",
        Site = "site",
        StageFamily = "stage+family",
        SiteStage = "site+stage",
        Coverage = "coverage",
    }

    /// What skipped cost tells.
    pub enum Quantity {
        /// Rate of first faults of the exposed matings over that of matings with both ends seen, in strata; n are connection-months.
        RateRatio = "rate-ratio" [Ratio],
        /// The same ratio by the method that does not lead.
        SecondOpinion = "second-opinion" [Ratio],
        /// How far the strata are from sharing one ratio: squared gaps over what chance would leave; n are strata.
        Homogeneity = "homogeneity" [Ratio],
        /// Clusters that are resampled; the method says what they are: site-weeks, longer blocks of a site where luck lasts longer, or sites where weeks are too many.
        Clusters = "clusters" [Count],
        /// Part of the linked faults' cost of the exposed matings that is associated with the exposure, a year; n are matings, as counted.
        AttributableCost = "attributable-cost" [Money],
        /// The cost associated with skipped looks less what these looks would have cost, a year; n are matings, as counted.
        NetSaving = "net-saving" [Money],
        /// The same of one class of skipped matings alone.
        NetSavingAlone = "net-saving-alone" [Money],
        /// What the net savings of a grouping's cells, flagged ones too, fall short of the fleet's.
        NotInCells = "net-saving-not-in-cells" [Money],
        /// The ratio of the headline under another rule; n are connection-months.
        Sensitivity = "sensitivity" [Ratio],
        /// First linked faults per 1,000 matings up to the end of a day since mating; n are matings.
        CumulativeHazard = "cumulative-hazard" [PerThousandMatings],
    }

    /// What skipped cost adds to its estimates.
    pub struct Own {
        /// Which matings count as exposed.
        exposure: Option<Exposure>,
        /// Which faults count.
        faults: Option<Faults>,
        /// Whether the matings were made shortly after a fault on one of their end faces.
        after_fault: Option<bool>,
        /// The rules that a row of sensitivity is counted under.
        variant: Option<Rule>,
        /// Two-sided p value of a ratio of 1, or of a common ratio in a row of homogeneity.
        p: Option<f64> [Probability],
        /// Rate ratio that the row's money rests on.
        ratio: Option<f64> [Ratio],
        /// Lower end of its interval.
        ratio_low: Option<f64> [Ratio],
        /// Upper end of its interval.
        ratio_high: Option<f64> [Ratio],
        /// Rate ratio of the place by its own strata alone, drawn to no other; it leads where the place stands apart.
        ratio_alone: Option<f64> [Ratio],
        /// Lower end of its exact interval.
        ratio_alone_low: Option<f64> [Ratio],
        /// Upper end of its exact interval.
        ratio_alone_high: Option<f64> [Ratio],
        /// Probability that the place is not one of those that differ by the common spread; above one half its ratio alone leads.
        stands_apart: Option<f64> [Probability],
        /// How strongly something left out must go with both exposure and faults to explain the ratio away.
        e_value: Option<f64> [Ratio],
        /// The same for the end of the interval that is nearer to 1.
        e_value_limit: Option<f64> [Ratio],
        /// Scatter of the faults of clusters about the rates of their strata, over that of chance: about 1 without any.
        dispersion: Option<f64> [Ratio],
        /// Clusters with follow-up that the interval rests on.
        clusters: Option<u64> [Count],
        /// Chance of the control's difference if there were none, after the number of groups tested.
        control_q: Option<f64> [Probability],
        /// First faults of the exposed matings.
        faults_skipped: Option<i64> [Count],
        /// First faults of the matings with both ends seen.
        faults_both: Option<i64> [Count],
        /// Exposed matings.
        matings_skipped: Option<i64> [Count],
        /// Months of the matings that a year's money is reckoned from: those that have run their horizon, with the faults of
        /// their sites known.
        months: Option<f64> [Months],
        /// Months that the records of these sites cover with their faults known.
        recorded_months: Option<f64> [Months],
        /// Quarters of the matings that the money is of: those that have run their horizon; empty where none of those looked
        /// back has, and it is of all.
        matings_of: Option<String>,
        /// Cost a year of all linked faults of the exposed matings; what their tickets do not state is put in by means of what others do.
        fault_cost: Option<Money>,
        /// Share of the tickets of these faults that state no price.
        unpriced: Option<f64> [Share],
        /// Part of it that is associated with the exposure, a year.
        attributable: Option<Money>,
        /// Lower end of its interval.
        attributable_low: Option<Money>,
        /// Upper end of its interval.
        attributable_high: Option<Money>,
        /// What looking at the exposed matings' unseen ends would have cost in a year, with the cleanings and rejects that it brings.
        look_cost: Option<Money>,
        /// In a row of sensitivity: the associated cost less the looks, a year.
        net_saving: Option<Money>,
        /// The grouping whose cells do not add up to the fleet's figure.
        cells: Option<String>,
        /// Why they do not.
        reason: Option<String>,
        /// Share of all places' gains, those of flagged ones too, that this and the better ranked have.
        running_share: Option<f64> [Share],
        /// Place by net saving, 1 for the largest; only firm rows have one.
        rank: Option<i64> [Count],
        /// Chance that the place is among the three with the largest net saving.
        top_three: Option<f64> [Probability],
        /// Share of the matings looked back to whose names stand apart from those of looks: on neither side of the ratio,
        /// and in no row of sensitivity. Empty for none.
        apart: Option<f64> [Share],
        /// Whole days since mating that the row reaches to.
        day: Option<u32> [Days],
        /// Matings followed on that day.
        at_risk: Option<i64> [Count],
    }
}

words! {
    /// Which matings count as exposed; those with both ends seen are what they are compared with.
    pub enum Exposure {
        /// Matings made with one or both ends unseen.
        Skipped = "skipped",
        /// Matings made with one end unseen.
        One = "one",
        /// Matings made with both ends unseen.
        None = "none",
        /// Matings made although the last look at an end failed.
        DespiteFail = "despite-fail",
    }
}

words! {
    /// Which first faults of a mating are counted.
    pub enum Faults {
        /// Those linked to contamination: confirmed or probable.
        Linked = "linked",
        /// Those of any cause.
        Any = "any",
        /// Those of causes that dirt cannot produce: a difference here is not the dirt's.
        Control = "control",
    }
}

/// Rules that the headline is counted under.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// As the settings say.
    AsRuled,
    /// As they say but for one rule.
    But(Variant),
    /// Matings of unknown coverage count as exposed.
    UnknownAsSkipped,
    /// Matings of unknown coverage count as seen at both ends.
    UnknownAsBoth,
}

impl Word for Rule {
    const LIST: &'static [Described] = &RULES;

    fn place(self) -> usize {
        let others = Variant::ALL.len();
        match self {
            Rule::AsRuled => 0,
            Rule::But(variant) => {
                1 + Variant::ALL.iter().position(|other| *other == variant).unwrap_or(0)
            }
            Rule::UnknownAsSkipped => 1 + others,
            Rule::UnknownAsBoth => 2 + others,
        }
    }
}

/// The words of [`Rule`], by [`Word::place`]: those of [`Variant`] are listed there.
const RULES: [Described; Variant::LIST.len() + 3] = {
    let as_ruled = Described { word: "as-ruled", doc: "As the settings say." };
    let mut rules = [as_ruled; Variant::LIST.len() + 3];
    let mut at = 0;
    while at < Variant::LIST.len() {
        let (_, word, doc) = Variant::LIST[at];
        at += 1;
        rules[at] = Described { word, doc };
    }
    rules[at + 1] = Described {
        word: "unknown-as-skipped",
        doc: "Matings of unknown coverage count as exposed.",
    };
    rules[at + 2] = Described {
        word: "unknown-as-both",
        doc: "Matings of unknown coverage count as seen at both ends.",
    };
    rules
};

impl By {
    /// The groupings that have ratios.
    pub const PLACES: [By; 6] =
        [By::Fleet, By::Stage, By::Family, By::Site, By::StageFamily, By::SiteStage];

    /// Whether its groups name a site, a stage, a family.
    pub fn parts(self) -> [bool; 3] {
        match self {
            By::Fleet | By::Coverage => [false, false, false],
            By::Stage => [false, true, false],
            By::Family => [false, false, true],
            By::Site => [true, false, false],
            By::StageFamily => [false, true, true],
            By::SiteStage => [true, true, false],
        }
    }
}

impl Exposure {
    /// Coverage of the exposed matings.
    pub fn coverages(self) -> &'static [Coverage] {
        match self {
            Exposure::Skipped => &[Coverage::One, Coverage::None],
            Exposure::One => &[Coverage::One],
            Exposure::None => &[Coverage::None],
            Exposure::DespiteFail => &[Coverage::DespiteFail],
        }
    }

    /// Whether matings of a coverage are exposed (true) or what these are compared with (false); none
    /// where they are neither.
    pub fn side(self, coverage: Coverage) -> Option<bool> {
        if self.coverages().contains(&coverage) {
            return Some(true);
        }
        (coverage == Coverage::Both).then_some(false)
    }
}

impl Faults {
    /// The definition that follow-up is counted by.
    pub fn definition(self) -> Definition {
        match self {
            Faults::Linked => Definition::Linked,
            Faults::Any => Definition::Any,
            Faults::Control => Definition::Control,
        }
    }
}

impl Rule {
    /// The variant of the count tables that it stands for; none where the usual follow-up is read.
    pub fn variant(self) -> Option<Variant> {
        match self {
            Rule::But(variant) => Some(variant),
            Rule::AsRuled | Rule::UnknownAsSkipped | Rule::UnknownAsBoth => None,
        }
    }

    /// The window of tickets that a rule is about, hours.
    pub fn ticket_window(self) -> Option<u32> {
        match self {
            Rule::But(Variant::Lag(at)) => LAGS_HOURS.get(at).copied(),
            _ => None,
        }
    }
}

impl Table {
    /// Ratios of the groups of a grouping, of matings not made after a fault.
    pub fn ratios(&self, by: By, exposure: Exposure, faults: Faults) -> impl Iterator<Item = &Row> {
        self.rows_of(by, Quantity::RateRatio).filter(move |row| {
            row.own.exposure == Some(exposure)
                && row.own.faults == Some(faults)
                && row.own.after_fault == Some(false)
        })
    }

    /// The headline: the fleet's ratio of linked faults, of skipped matings not made after a fault.
    pub fn headline(&self) -> Option<&Row> {
        self.ratios(By::Fleet, Exposure::Skipped, Faults::Linked).next()
    }
}
