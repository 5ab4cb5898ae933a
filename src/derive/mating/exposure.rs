//! Partner exposures (4.5): an end that was clean when it was mated, and how it came out.

use rustc_hash::FxHashSet;
use serde::{Deserialize, Serialize};

use super::pair::Pair;
use crate::derive::face::end_state::EndState;
use crate::derive::face::event::{Half, NO_MATING, later};
use crate::derive::face::visit::Face;
use crate::derive::scan::key::Key;

/// How the partner came out of its mating: the first that came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Later {
    /// A look passed.
    Clean,
    /// A look failed for contamination.
    Contaminated,
    /// Failed for a defect, or for a reason that nobody wrote down.
    OtherFail,
    /// Cleaned, nobody having looked.
    CleanedUnseen,
    /// Mated again, nobody having looked or cleaned.
    MatedAgain,
    /// Nothing up to the period's end.
    Nothing,
}

impl Later {
    /// What a half says.
    pub fn of(half: &Half, period_end: i64) -> Later {
        match half.later {
            later::PASSED => Later::Clean,
            later::CONTAMINATED => Later::Contaminated,
            later::DEFECTIVE | later::UNCLEAR => Later::OtherFail,
            later::CLEANED => Later::CleanedUnseen,
            _ if half.next != NO_MATING && half.next_at < period_end => Later::MatedAgain,
            _ => Later::Nothing,
        }
    }

    /// Whether it was looked at before anything else happened.
    pub fn is_look(self) -> bool {
        matches!(self, Later::Clean | Later::Contaminated | Later::OtherFail)
    }
}

/// A partner that was seen clean and then mated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exposure {
    /// Number of the mating.
    pub mating: u64,
    /// When it was made, microseconds UTC.
    pub at: i64,
    /// Code of the site.
    pub site: u32,
    /// Code of the stage.
    pub stage: u8,
    /// The end that was clean.
    pub partner: Key,
    /// Code of the connector family of the clean end.
    pub family: u32,
    /// Place in `records::Side` plus 1 of the clean end, 0 where not known.
    pub side: u8,
    /// How the clean end came out.
    pub later: Later,
    /// A fault was behind the look: it was not routine.
    pub prompted: bool,
    /// The other end; [`Key::NONE`] where not identified.
    pub other: Key,
    /// What was known of it.
    pub other_state: EndState,
    /// Tool that it was last cleaned with, 0 where not known.
    pub other_tool: u32,
    /// Pseudonym of who made the mating, 0 where not given.
    pub operator: u32,
    /// Half of the work order's hash, 0 for none.
    pub work_order: u32,
}

/// The exposures of a mating: none, one or both of its ends.
///
/// `prompted` holds matings and end faces whose first look afterwards a fault was behind.
pub fn exposures(
    pair: &Pair,
    prompted: &FxHashSet<(u64, Key)>,
    period_end: i64,
) -> [Option<Exposure>; 2] {
    let recessed = |half: &Half| Face { optic: half.optic, ..Face::default() }.is_recessed();
    if pair.halves.iter().flatten().any(recessed) {
        return [None; 2];
    }
    let row = &pair.row;
    [0, 1].map(|end: usize| {
        let half = pair.halves[end].filter(|half| EndState::of(half.state) == EndState::Seen)?;
        let other = pair.halves[1 - end];
        let partner = row.ends[end];
        Some(Exposure {
            mating: row.number,
            at: row.at,
            site: row.site,
            stage: row.stage,
            partner,
            family: half.family,
            side: half.side,
            later: Later::of(&half, period_end),
            prompted: prompted.contains(&(row.number, partner)),
            other: other.map_or(Key::NONE, |_| row.ends[1 - end]),
            other_state: other.map_or(EndState::Unseen, |half| EndState::of(half.state)),
            other_tool: other.map_or(0, |half| half.tool),
            operator: row.operator,
            work_order: row.work_order,
        })
    })
}
