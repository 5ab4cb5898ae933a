//! What a reader must know beside an estimate.

use crate::stats::{Estimate, Warning};

/// Flags of section 5.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flag {
    /// Too few units: a share under the least count, a ratio with a side that expects fewer than
    /// five events, a rate under 20 connection-months.
    Thin,
    FewClusters,
    /// More than a fifth of visits began without a look.
    Selective,
    /// Standardised over less than 80 % of the fleet's weight.
    Partial,
    /// A band without person-time.
    Short,
    /// No informative event of its own: the fleet's ratio stands in.
    Borrowed,
    /// The negative control's interval leaves out 1.
    Confounded,
    NotConverged,
    NotIdentified,
    BeyondData,
    /// The cover of the faults rests on a default.
    GuessedCover,
}

impl Flag {
    /// The word in tables.
    pub fn word(self) -> &'static str {
        match self {
            Flag::Thin => "thin",
            Flag::FewClusters => "few-clusters",
            Flag::Selective => "selective",
            Flag::Partial => "partial",
            Flag::Short => "short",
            Flag::Borrowed => "borrowed",
            Flag::Confounded => "confounded",
            Flag::NotConverged => "not-converged",
            Flag::NotIdentified => "not-identified",
            Flag::BeyondData => "beyond-data",
            Flag::GuessedCover => "guessed-cover",
        }
    }

    /// Whether the row may still be ranked and stand in a headline.
    pub fn only_warns(self) -> bool {
        matches!(self, Flag::BeyondData | Flag::GuessedCover)
    }

    /// The flags that an estimate's own warnings stand for.
    pub fn of_warnings(estimate: &Estimate) -> Vec<Flag> {
        let flag = |warning: &Warning| match warning {
            Warning::NotConverged => Some(Flag::NotConverged),
            Warning::FewClusters => Some(Flag::FewClusters),
            Warning::Short => Some(Flag::Short),
            Warning::NoData | Warning::OneSided => Some(Flag::Thin),
            Warning::Boundary | Warning::Approximate => None,
        };
        let mut flags: Vec<Flag> = estimate.warnings.iter().filter_map(flag).collect();
        flags.sort_unstable();
        flags.dedup();
        flags
    }
}
