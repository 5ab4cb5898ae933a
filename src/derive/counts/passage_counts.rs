//! What 5.6 is measured from: passages between visits, and looks that followed a passing one.

use super::kinds::CAPPED;
use super::table::{CountTable, Dimension};
use crate::derive::DeriveError;

/// What became of a passage: usable (routine or prompted), or why it is not, in the order in which
/// the reasons are asked for.
pub const PASSAGE_KINDS: &[&str] = &[
    "routine",
    "prompted",
    "not-known-clean",
    "cleaned-unseen",
    "failed-otherwise",
    "to-an-earlier-stage",
];
/// Classes of the matings between the two visits of a passage.
pub const MATING_CLASSES: &[&str] = &["0", "1", "2", "3", "4", "5-6", "7-9", "10 and more"];
/// Classes of the days between them; each begins with the day that the one before names last.
pub const DAY_CLASSES: &[&str] =
    &["under 1", "to 7", "to 14", "to 30", "to 60", "to 91", "to 182", "to 365", "over 365"];

/// Every pair of consecutive visits of one end face; seconds run from the end of the one to the
/// start of the other. `clean` and `dirty` are of usable ones.
pub type Passages = CountTable<7, 5>;
/// Routine passages of the look-back by site-week of the later visit, for the scatter between them.
pub type PassageWeeks = CountTable<7, 2>;
/// Routine passages by what happened between the two visits.
pub type PassageLoads = CountTable<6, 4>;
/// Looks that followed a passing look with nothing between.
pub type SecondLooks = CountTable<3, 2>;

/// The count tables of 5.6. `stage` is that of the later visit, `from` that of the earlier.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PassageCounts {
    pub passages: Passages,
    pub weeks: PassageWeeks,
    pub loads: PassageLoads,
    pub second_looks: SecondLooks,
}

impl PassageCounts {
    /// Tables without counts.
    pub fn empty() -> PassageCounts {
        let quarter = ("quarter", Dimension::Quarter);
        let (site, family) = (("site", Dimension::Site), ("family", Dimension::Family));
        let (from, stage) = (("from", Dimension::Stage), ("stage", Dimension::Stage));
        let capped = ("capped", Dimension::Words(CAPPED));
        PassageCounts {
            passages: CountTable::empty(
                "passages",
                [
                    quarter,
                    site,
                    from,
                    stage,
                    family,
                    capped,
                    ("kind", Dimension::Words(PASSAGE_KINDS)),
                ],
                ["passages", "clean", "dirty", "matings", "seconds"],
            ),
            weeks: CountTable::empty(
                "passage_weeks",
                [quarter, ("week", Dimension::Week), site, from, stage, family, capped],
                ["passages", "dirty"],
            ),
            loads: CountTable::empty(
                "passage_loads",
                [
                    quarter,
                    from,
                    stage,
                    capped,
                    ("matings", Dimension::Words(MATING_CLASSES)),
                    ("days", Dimension::Words(DAY_CLASSES)),
                ],
                ["passages", "dirty", "matings_between", "seconds"],
            ),
            second_looks: CountTable::empty(
                "second_looks",
                [quarter, site, stage],
                ["looks", "failing"],
            ),
        }
    }

    /// Adds the counts of another share of the rows.
    pub fn merge(self, other: PassageCounts) -> PassageCounts {
        PassageCounts {
            passages: self.passages.merge(other.passages),
            weeks: self.weeks.merge(other.weeks),
            loads: self.loads.merge(other.loads),
            second_looks: self.second_looks.merge(other.second_looks),
        }
    }

    /// Checks that cells plus off-table are the total, in every table.
    ///
    /// # Errors
    /// Names the first table that does not add up.
    pub fn check(&self) -> Result<(), DeriveError> {
        self.passages.check()?;
        self.weeks.check()?;
        self.loads.check()?;
        self.second_looks.check()
    }
}
