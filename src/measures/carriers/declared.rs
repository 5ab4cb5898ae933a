//! What carriers answer with: their groupings, quantities, words and columns.

use crate::derive::counts::Fate;
use crate::derive::{CarrierKind, Later};
use crate::measures::results::{results, words};

results! {
    /// What carries dirt from one end face to the next.
    table "carriers";

    /// What carriers are grouped by.
    pub enum By {
        Kind = "kind",
        KindEntity = "kind+entity",
        Later = "later",
        Entity = "entity",
        EntityPartner = "entity+partner",
    }

    /// What carriers tell.
    pub enum Quantity {
        /// How many of a kind are listed as carriers; n are their results, events the dirty ones.
        Listed = "carriers-listed" [Count],
        /// Dirty results over those expected from the others' in the same cells; n are results in cells that others share.
        AgainstOthers = "against-others" [Ratio],
        /// Ends that were seen clean and then mated, by what became of them.
        Exposures = "exposures" [Count],
        /// When a listed end face was last cleaned; n are its matings, and there is no estimate.
        LastCleaned = "last-cleaned" [Count],
        /// One mating of a listed end face; events are 1 where the other end came out dirty, and there is no estimate.
        Touch = "touch" [Count],
    }

    /// What carriers add to their estimates.
    pub struct Own {
        /// Kind of carrier, each a family of tests of its own.
        kind: Option<Carrier>,
        /// Name of the end face, tool, instrument or supplier; a pseudonym of a person.
        entity: Option<String>,
        /// Results of all cells, those that nobody shares too.
        trials: Option<u64> [Count],
        /// Dirty results to be expected, the totals of the cells given.
        expected: Option<f64> [Count],
        /// Chance of as many dirty results or more, the totals of the cells given.
        p_exact: Option<f64> [Probability],
        /// How that chance was worked out.
        tail: Option<Tail>,
        /// The same after the number of entities of the kind that were tested.
        q_exact: Option<f64> [Probability],
        /// Chance of as many dirty results or more, where those of one work order are alike.
        p_dispersed: Option<f64> [Probability],
        /// The same after the number of entities of the kind that were tested.
        q_dispersed: Option<f64> [Probability],
        /// The ratio drawn towards 1, the more the less is known of it.
        shrunken: Option<f64> [Ratio],
        /// Lower end of its interval.
        shrunken_low: Option<f64> [Ratio],
        /// Upper end of its interval.
        shrunken_high: Option<f64> [Ratio],
        /// Different partners of an end face.
        partners: Option<i64> [Count],
        /// Those of them that came out dirty.
        dirty_partners: Option<i64> [Count],
        /// Whether it is listed as a carrier.
        carrier: Option<Verdict>,
        /// Place among the listed of its kind, 1 for the largest low end of the ratio drawn towards 1.
        rank: Option<i64> [Count],
        /// How many of the kind had results enough to be tested.
        tested: Option<u64> [Count],
        /// How many of them are listed.
        listed: Option<u64> [Count],
        /// Work orders with results of the kind.
        orders: Option<i64> [Count],
        /// Scatter of dirty results over work orders, over that of chance; never below 1.
        dispersion: Option<f64> [Ratio],
        /// Name of the end that a listed end face touched.
        partner: Option<String>,
        /// What became of an end after its mating.
        later: Option<Outcome>,
        /// Whether the mating was made since the listed end face was last cleaned.
        since_cleaned: Option<bool>,
        /// Whether the other end was in service at the period's end.
        in_service: Option<bool>,
        /// Whether the other end should be inspected first: in service, touched since the last cleaning, not looked at since.
        inspect: Option<bool>,
    }
}

words! {
    /// Kinds of carrier.
    pub enum Carrier {
        /// An end face, by the ends that it was mated with.
        EndFace = "end-face",
        /// A person, by the ends of the matings made.
        Operator = "operator",
        /// A supplier, by how end faces first came.
        Supplier = "supplier",
        /// An instrument, by its routine first looks.
        Instrument = "instrument",
        /// A tool, by the contamination that its cycles left.
        ToolCleaning = "tool-cleaning",
        /// A tool, by the clean end faces that its cycles left dirty.
        ToolSoiling = "tool-soiling",
    }
}

words! {
    /// Whether something is listed as a carrier.
    pub enum Verdict {
        /// It stands out under both tests.
        Listed = "yes",
        /// It does not, or all its dirt stands on one partner.
        NotListed = "no",
        /// It has too few results in cells that others share.
        NotTested = "not tested",
    }
}

words! {
    /// How the chance of as many dirty results or more was worked out.
    pub enum Tail {
        /// As a sum of hypergeometric counts.
        Exact = "exact",
        /// By the normal distribution, which stands for the sum where there are very many results.
        Normal = "normal",
    }
}

words! {
    /// What became of an end that was seen clean and then mated: the first that came.
    pub enum Outcome {
        /// A look passed.
        Clean = "clean",
        /// A look failed for contamination.
        Contaminated = "contaminated",
        /// It was looked at because of a fault; not counted.
        Prompted = "prompted",
        /// A look failed for a defect, or the record does not say for what.
        OtherFail = "other-fail",
        /// It was cleaned, nobody having looked.
        CleanedUnseen = "cleaned-unseen",
        /// It was mated again, nobody having looked or cleaned; counted by ends as not looked at.
        MatedAgain = "mated-again",
        /// Nothing up to the period's end.
        NotLookedAt = "not-looked-at",
    }
}

impl From<CarrierKind> for Carrier {
    fn from(kind: CarrierKind) -> Carrier {
        match kind {
            CarrierKind::EndFace => Carrier::EndFace,
            CarrierKind::Operator => Carrier::Operator,
            CarrierKind::Supplier => Carrier::Supplier,
            CarrierKind::Instrument => Carrier::Instrument,
            CarrierKind::ToolCleaning => Carrier::ToolCleaning,
            CarrierKind::ToolSoiling => Carrier::ToolSoiling,
        }
    }
}

impl From<Fate> for Outcome {
    fn from(fate: Fate) -> Outcome {
        match fate {
            Fate::Clean => Outcome::Clean,
            Fate::Contaminated => Outcome::Contaminated,
            Fate::Prompted => Outcome::Prompted,
            Fate::OtherFail => Outcome::OtherFail,
            Fate::CleanedUnseen => Outcome::CleanedUnseen,
            Fate::NotLookedAt => Outcome::NotLookedAt,
        }
    }
}

impl From<Later> for Outcome {
    fn from(later: Later) -> Outcome {
        match later {
            Later::Clean => Outcome::Clean,
            Later::Contaminated => Outcome::Contaminated,
            Later::OtherFail => Outcome::OtherFail,
            Later::CleanedUnseen => Outcome::CleanedUnseen,
            Later::MatedAgain => Outcome::MatedAgain,
            Later::Nothing => Outcome::NotLookedAt,
        }
    }
}

impl Table {
    /// Everything that is listed as a carrier and may be named, kind by kind in the order of its rank.
    pub fn listed(&self) -> impl Iterator<Item = &Row> {
        let entities = self.rows_of(By::KindEntity, Quantity::AgainstOthers);
        entities.filter(|row| row.is_firm() && row.own.carrier == Some(Verdict::Listed))
    }
}
