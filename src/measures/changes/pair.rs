//! The period and one earlier quarter, side by side.

use std::collections::BTreeMap;

use super::declared::{Against, By};
use crate::by;
use crate::derive::counts::{Family, Has, QuarterNo, Site, Stage};
use crate::derive::{ByColumns, Quarter, Rows};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;

/// Fewest events that either side must expect at the rate of both.
const LEAST_EXPECTED: f64 = 5.0;

/// The period against one other quarter.
pub(in crate::measures) struct Pair {
    pub against: Against,
    /// The earlier quarter.
    pub quarter: Quarter,
    /// The period and the earlier quarter in count tables; none where no record is of that quarter.
    pub now: Option<QuarterNo>,
    pub before: Option<QuarterNo>,
}

impl Pair {
    pub fn of(evidence: &Evidence, against: Against, quarter: Quarter) -> Pair {
        let counted = |quarter| evidence.derived.calendar.piece_of(quarter).map(QuarterNo);
        let now = counted(evidence.derived.period.quarter);
        Pair { against, quarter, now, before: counted(quarter) }
    }
}

/// The rows of a quarter; none where no record is of it.
pub(in crate::measures) fn rows_in<T: Has<QuarterNo>>(quarter: Option<QuarterNo>) -> Rows<T> {
    Rows::all().with(quarter)
}

/// The groups of every quantity; first pass has more.
pub(in crate::measures) fn groupings<T: Has<Stage> + Has<Family> + Has<Site>>()
-> [(By, ByColumns<T>); 5] {
    [
        (By::Fleet, by!()),
        (By::Stage, by!(Stage)),
        (By::Family, by!(Family)),
        (By::StageFamily, by!(Stage, Family)),
        (By::Site, by!(Site)),
    ]
}

/// A group of one quarter, known by its places of display.
pub(in crate::measures) trait Placed {
    fn places(&self) -> &[u32];
}

/// What both quarters, the period first, have of the same group, in the order of display. Nothing where one of the
/// quarters has no group at all: it is not compared with what was not recorded.
pub(in crate::measures) fn side_by_side<T: Placed>(
    now: Vec<T>,
    before: Vec<T>,
) -> Vec<[Option<T>; 2]> {
    if now.is_empty() || before.is_empty() {
        return Vec::new();
    }
    let mut pairs: BTreeMap<Vec<u32>, [Option<T>; 2]> = BTreeMap::new();
    for (side, groups) in [now, before].into_iter().enumerate() {
        for group in groups {
            let pair = pairs.entry(group.places().to_vec()).or_insert([None, None]);
            pair[side] = Some(group);
        }
    }
    pairs.into_values().collect()
}

/// `thin` where a side expects too few events at the rate of both together: `all` events over `sizes`
/// of units or exposure.
pub(in crate::measures) fn expects_too_few(all: f64, sizes: [f64; 2]) -> Option<Flag> {
    let whole = sizes[0] + sizes[1];
    let least = sizes[0].min(sizes[1]);
    (whole <= 0.0 || all * (least / whole) < LEAST_EXPECTED).then_some(Flag::Thin)
}
