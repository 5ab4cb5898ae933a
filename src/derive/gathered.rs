//! What the workers of a stage came to, joined: which state is whose.

use super::DeriveError;
use super::carriers::faces::CarrierFaces;
use super::counts::Counts;
use super::mating::at_risk::Found;
use super::mating::late::Signs;
use super::mating::named::Told;
use super::passes::Called;
use super::run::{Grouping, Lines, Met, Passed, Summed};
use super::scan::names::MetWords;
use super::scan::read_once::Learnt;
use super::share::stage::{Kind, Stage};
use super::share::states::{State, joined, packed, unpacked};

impl State for Counts {
    fn merge(self, other: Counts) -> Counts {
        Counts::merge(self, other)
    }
}

/// Of packed counts those that stages go by: trials of carriers, and what somebody should look at first; packed again. All
/// others are for the report alone, and most of the bytes.
///
/// # Errors
/// Bytes that are no counts.
pub fn cells_of(counts: &[u8]) -> Result<Vec<u8>, DeriveError> {
    let Counts { carriers, worklist, .. } = unpacked(counts)?;
    packed(&Counts { carriers, worklist, ..Counts::empty(0) })
}

/// Joins the states or the counts that the workers of a stage handed on, packed as they came, one after the other; none
/// where there was none.
///
/// # Errors
/// Bytes that are no such state.
pub fn merge_states(
    stage: Stage,
    kind: Kind,
    all: impl Iterator<Item = Vec<u8>>,
) -> Result<Option<Vec<u8>>, DeriveError> {
    if kind == Kind::Counts {
        return joined::<Counts>(all);
    }
    match stage {
        Stage::Words => joined::<MetWords>(all),
        Stage::Scan => joined::<Learnt>(all),
        Stage::PassOne => joined::<Passed>(all),
        Stage::Tickets => joined::<Told>(all),
        Stage::Groups => joined::<Grouping>(all),
        Stage::Signs => joined::<Signs>(all),
        Stage::Attach => joined::<Met>(all),
        Stage::PassTwo => joined::<Found>(all),
        Stage::InForce | Stage::Count => joined::<()>(all),
        Stage::Orders => joined::<Summed>(all),
        Stage::Faces => joined::<CarrierFaces>(all),
        Stage::TimeLines => joined::<Lines>(all),
        Stage::Names => joined::<Called>(all),
    }
}
