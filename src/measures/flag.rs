//! What a reader must know beside an estimate.

use crate::measures::results::words;
use crate::stats::{Estimate, Warning};

words! {
    /// Flags. The sentences are those that the page prints.
    pub enum Flag {
        /// too few units, or too few expected events on one side, to rank or to headline.
        Thin = "thin",
        /// too few work orders, site-days or site-weeks behind the interval; it may be too narrow.
        FewClusters = "few-clusters",
        /// more than a fifth of the visits began without a look, so those that had one may not be typical.
        Selective = "selective",
        /// the row has less than 80 % of the fleet's mix to be standardised to.
        Partial = "partial",
        /// a span of the follow-up has no time at risk; a sum over it cannot be given.
        Short = "short",
        /// no event of its own that could tell; the value is what the other rows suggest.
        Borrowed = "borrowed",
        /// faults that dirt cannot produce differ between the two sides as well, so something else differs between them.
        Confounded = "confounded",
        /// the fit stopped before it settled.
        NotConverged = "not-converged",
        /// these records cannot tell this value from others.
        NotIdentified = "not-identified",
        /// the value lies beyond what was observed; read it as a lower limit.
        BeyondData = "beyond-data",
        /// the settings do not say from when to when faults were recorded; the span of the records was taken.
        GuessedCover = "guessed-cover",
        /// more of the faults' tickets state no price than the settings allow; what the money rests on is mostly the price of others.
        Unpriced = "unpriced",
        /// the names in matings and in looks stand apart for more than a tenth of its matings, which are left out.
        NamesApart = "names-apart",
        /// the records cover less than twelve months; what is of a year is reckoned from those months, as if the others were like them.
        ShortHistory = "short-history",
        /// tickets may be stamped later after the repair than is assumed: with another window the ratio lies outside this interval.
        LateTickets = "late-tickets",
        /// the interval is known to be too short: something that visits or weeks share, or how cleanings are spread, is not in it.
        Narrow = "narrow",
        /// months before the start already went another way at these sites than at the others.
        NotParallel = "not-parallel",
        /// it began after a quarter worse than the sites' own history and the other sites let expect; what followed may be the way back.
        ChosenWhenBad = "chosen-when-bad",
        /// it began at all sites at once, so nothing is left to compare with; whatever else began then is in it.
        NoComparison = "no-comparison",
    }
}

impl Flag {
    /// Whether the row may still be ranked and stand in a headline.
    pub fn only_warns(self) -> bool {
        matches!(
            self,
            Flag::BeyondData
                | Flag::GuessedCover
                | Flag::ShortHistory
                | Flag::LateTickets
                | Flag::Narrow
        )
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
