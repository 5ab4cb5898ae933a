//! The results of 5.11.

use crate::derive::counts::ZoneOf;
use crate::measures::results::{Money, results, words};
use crate::measures::skipped_cost::{self, Exposure};
use crate::records;

results! {
    /// What somebody should look at first.
    table "worklist";

    /// What the worklist is grouped by.
    pub enum By {
        List = "list",
        Item = "site+stage+family",
    }

    /// What the worklist tells.
    pub enum Quantity {
        /// Candidates of a list; n are those that it shows.
        Candidates = "candidates" [Count],
        /// What doing the work is expected to save (of carriers, in the first month), less its price; low and high are the
        /// outermost limits of its parts.
        ExpectedSaving = "expected-saving" [Money],
    }

    /// What the worklist adds to its estimates.
    pub struct Own {
        /// The list that the row is of.
        list: List,
        /// Place in the list, 1 for the first; only firm rows with a saving have one.
        rank: Option<i64> [Count],
        /// Place among the rows of all lists that are worth doing now, 1 for the first.
        overall: Option<i64> [Count],
        /// Whether it is worth doing now, or only when somebody is there anyhow.
        when: Option<When>,
        /// The end face, as records name it.
        end_face: Option<String>,
        /// The end face that it is mated with.
        partner: Option<String>,
        /// The service that the connection carries.
        service: Option<String>,
        /// What is to be done.
        what_to_do: Option<String>,
        /// Why it is listed.
        reason: Option<String>,
        /// What failed the last look.
        finding: Option<Finding>,
        /// The innermost zone that failed it.
        zone: Option<ZoneOf>,
        /// Cleaning cycles tried in vain.
        cycles: Option<u32> [Cycles],
        /// Days that are left until the horizon of the mating.
        remaining_days: Option<i64> [Days],
        /// Price of the work, which the saving is less.
        work_cost: Option<Money>,
        /// What going there for it alone would cost besides: the trip, and the interruption where that is known.
        trip_cost: Option<Money>,
        /// What interrupting its service costs; empty where nobody has said so.
        interruption: Option<Money>,
        /// The part of what mating an end face left failing would cost that no later look stops.
        let_through: Option<f64> [Share],
        /// Mean cost of a linked fault that the saving rests on.
        mean_fault_cost: Option<Money>,
        /// The group whose hazard and ratio the saving rests on.
        rates_of: Option<Within>,
        /// The matings whose hazard and ratio they are.
        rates_as: Option<Exposure>,
        /// The group whose mean cost of a fault the saving rests on.
        cost_of: Option<Within>,
        /// Candidates of the list.
        candidates: Option<i64> [Count],
    }
}

words! {
    /// Lists, in the order of the page.
    pub enum List {
        /// End faces left failing.
        LeftFailing = "left-failing",
        /// Carriers not cleaned since they last touched another end face.
        Carrier = "carrier",
        /// Matings in force that were made without both ends seen.
        UnseenMating = "unseen-mating",
    }
}

words! {
    /// When the work is worth its price.
    pub enum When {
        /// Now, though somebody has to go there for it alone.
        Now = "now",
        /// When somebody is there anyhow: before it is mated, or when it is next opened.
        ThereAnyhow = "there-anyhow",
    }
}

words! {
    /// Groups that rates and costs are taken of, the finest first.
    pub enum Within {
        /// Of the stage and family.
        StageFamily = "stage+family",
        /// Of the family.
        Family = "family",
        /// Of the stage.
        Stage = "stage",
        /// Of the fleet.
        Fleet = "fleet",
    }
}

words! {
    /// What failed a look.
    pub enum Finding {
        /// Nobody wrote what.
        Unknown = "unknown",
        /// Contamination.
        Contamination = "contamination",
        /// A defect, which does not come off.
        Defect = "defect",
    }
}

impl Within {
    /// Whether its groups name a stage and a family.
    pub fn parts(self) -> (bool, bool) {
        match self {
            Within::StageFamily => (true, true),
            Within::Family => (false, true),
            Within::Stage => (true, false),
            Within::Fleet => (false, false),
        }
    }

    /// The grouping of ratios.
    pub fn by(self) -> skipped_cost::By {
        match self {
            Within::StageFamily => skipped_cost::By::StageFamily,
            Within::Family => skipped_cost::By::Family,
            Within::Stage => skipped_cost::By::Stage,
            Within::Fleet => skipped_cost::By::Fleet,
        }
    }
}

impl From<records::Finding> for Finding {
    fn from(finding: records::Finding) -> Finding {
        match finding {
            records::Finding::Unknown => Finding::Unknown,
            records::Finding::Contamination => Finding::Contamination,
            records::Finding::Defect => Finding::Defect,
        }
    }
}

impl Table {
    /// The rows of all lists that are worth doing now, in the order of what they are expected to save.
    pub fn overall(&self) -> Vec<&Row> {
        let mut rows: Vec<&Row> = self
            .quantity(Quantity::ExpectedSaving)
            .filter(|row| row.own.overall.is_some())
            .collect();
        rows.sort_by_key(|row| row.own.overall);
        rows
    }

    /// The rows of one list, in their order.
    pub fn listed(&self, list: List) -> impl Iterator<Item = &Row> {
        self.quantity(Quantity::ExpectedSaving).filter(move |row| row.own.list == list)
    }
}
