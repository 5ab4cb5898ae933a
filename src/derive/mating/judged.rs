//! By what the last looks at the two ends of a mating were judged (5.10).

use super::pair::Pair;
use crate::derive::face::end_state::EndState;
use crate::derive::face::event::{Half, Standard};
use crate::records::Grading;

/// Who judged the last looks at both ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GradedBy {
    /// Nothing is said of it.
    Unknown,
    /// Both ends alike.
    Alike(Grading),
    /// The two ends were judged in two ways.
    Mixed,
}

/// How many there are.
const COUNT: usize = Grading::ALL.len() + 2;

impl GradedBy {
    /// Every one, in order.
    pub const ALL: [GradedBy; COUNT] = {
        let mut all = [GradedBy::Unknown; COUNT];
        let mut at = 0;
        while at < Grading::ALL.len() {
            all[at + 1] = GradedBy::Alike(Grading::ALL[at]);
            at += 1;
        }
        all[COUNT - 1] = GradedBy::Mixed;
        all
    };

    /// The words, in the same order.
    pub const WORDS: [&'static str; COUNT] = {
        let mut words = ["unknown"; COUNT];
        let mut at = 0;
        while at < COUNT {
            words[at] = GradedBy::ALL[at].word();
            at += 1;
        }
        words
    };

    /// The word it is written with.
    pub const fn word(self) -> &'static str {
        match self {
            GradedBy::Unknown => "unknown",
            GradedBy::Alike(grading) => grading.word(),
            GradedBy::Mixed => "mixed",
        }
    }

    /// Its place in [`GradedBy::ALL`].
    pub fn place(self) -> usize {
        match self {
            GradedBy::Unknown => 0,
            GradedBy::Alike(grading) => grading as usize + 1,
            GradedBy::Mixed => COUNT - 1,
        }
    }

    /// Of one look, whose grading is its place in `records::Grading` plus 1.
    fn of_look(grading: u8) -> GradedBy {
        let known = usize::from(grading).checked_sub(1).and_then(|place| Grading::ALL.get(place));
        known.map_or(GradedBy::Unknown, |grading| GradedBy::Alike(*grading))
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
