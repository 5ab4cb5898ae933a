//! By what the last looks at the two ends of a mating were judged (5.10).

use super::pair::Pair;
use crate::derive::face::end_state::EndState;
use crate::derive::face::event::{Half, Standard};
use crate::records::code_list;

code_list! {
    /// Who judged the last looks at both ends: `records::Grading` after "unknown".
    GradedBy {
        Unknown = "unknown",
        Automatic = "automatic",
        Manual = "manual",
        /// The two ends were judged in two ways.
        Mixed = "mixed",
    }
}

impl GradedBy {
    /// Of one look, whose grading is its place in `records::Grading` plus 1.
    fn of_look(grading: u8) -> GradedBy {
        let known = [GradedBy::Unknown, GradedBy::Automatic, GradedBy::Manual];
        known.get(usize::from(grading)).copied().unwrap_or(GradedBy::Unknown)
    }
}

/// Criteria and grading of the looks that a mating with both ends seen rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judged {
    /// Code of the criteria; that of "mixed" where the two ends had different ones.
    pub criteria: u32,
    /// Who judged.
    pub grading: GradedBy,
}

impl Judged {
    /// Of a mating. A lens that no tool reaches needs no look: the other end decides.
    pub fn of(pair: &Pair, mixed: u32) -> Judged {
        let looked = |half: &&Half| EndState::of(half.state) == EndState::Seen;
        let standards = pair.halves.iter().flatten().filter(looked);
        let mut standards = standards.map(|half| Standard(half.standard));
        let Some(first) = standards.next() else {
            return Judged { criteria: 0, grading: GradedBy::Unknown };
        };
        let judged =
            Judged { criteria: first.criteria(), grading: GradedBy::of_look(first.grading()) };
        standards.fold(judged, |judged, other| Judged {
            criteria: if other.criteria() == judged.criteria { judged.criteria } else { mixed },
            grading: match GradedBy::of_look(other.grading()) {
                same if same == judged.grading => same,
                _ => GradedBy::Mixed,
            },
        })
    }
}
