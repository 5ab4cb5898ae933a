//! Matings in force that were made without both ends seen (5.11).
//!
//! Listed is a mating of coverage `one`, `none` or `despite-fail`, at a stage with light, that was in
//! force at the period's end and less old than the horizon. Not those that already had a linked
//! fault (whoever repaired it has seen the ends), and not those of which an end was looked at or
//! cleaned since (somebody has taken it apart, though no demating was recorded).

use std::cmp::Reverse;

use serde::{Deserialize, Serialize};

use super::describe::{Coverage, Mating, end_state};
use super::follow_up::{Definition, Following, first_fault};
use super::pair::Pair;
use crate::derive::face::end_state::EndState;
use crate::derive::face::event::later;
use crate::derive::scan::key::Key;

/// One mating of the list. In order: the latest first, then by its ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct UnseenMating {
    /// When it was made, microseconds UTC.
    pub at: Reverse<i64>,
    /// The failing end first, then one that nobody had seen; [`Key::NONE`] where not identified.
    pub ends: [Key; 2],
    /// What was known of each; none where not identified.
    pub states: [Option<EndState>; 2],
    /// What was known of its ends (C2).
    pub coverage: Coverage,
    /// Code of the stage.
    pub stage: u8,
    /// Code of the site.
    pub site: u32,
    /// Code of the connector family.
    pub family: u32,
    /// Its number among the fleet's matings.
    pub number: u64,
}

impl UnseenMating {
    /// Stage, family and coverage: what the risk depends on apart from the age. Within a cell the
    /// risk that remains falls with age, so the first rows of each cell, which are the latest
    /// matings, hold the first rows of the whole list.
    pub fn cell(&self) -> [u32; 3] {
        [self.stage.into(), self.family, self.coverage as u32]
    }
}

/// The mating, if it belongs on the list.
pub fn unseen_mating(pair: &Pair, mating: &Mating, with: &Following) -> Option<UnseenMating> {
    let period_end = with.period_end;
    let horizon = with.bands.horizon();
    let is_young = mating.at < period_end && period_end - mating.at < horizon;
    let worked = pair.halves.iter().flatten().any(|half| half.later != later::NOTHING);
    let failed = || first_fault(mating, |fault| Definition::Linked.holds(fault)).is_some();
    let listed = matches!(mating.coverage, Coverage::One | Coverage::None | Coverage::DespiteFail);
    if !listed
        || !is_young
        || mating.in_force_end < period_end
        || with.is_dark(mating.stage)
        || worked
        || failed()
    {
        return None;
    }
    let state = |end: usize| pair.halves[end].map(|half| end_state(&half, half.state));
    let rank = |end: usize| match state(end) {
        Some(EndState::Failing) => 0,
        Some(EndState::Unseen) => 1,
        None => 2,
        Some(EndState::Seen) => 3,
    };
    let order = if rank(1) < rank(0) { [1, 0] } else { [0, 1] };
    Some(UnseenMating {
        at: Reverse(mating.at),
        ends: order.map(|end| pair.row.ends[end]),
        states: order.map(state),
        coverage: mating.coverage,
        stage: mating.stage,
        site: mating.site,
        family: mating.family,
        number: mating.number,
    })
}
