//! What a few conspicuous end faces touched, in time order: the list to inspect (5.7, 5.11).

use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use crate::derive::face::end_state::EndState;
use crate::derive::face::event::{MatingRow, NEVER};
use crate::derive::mating::exposure::Later;
use crate::derive::mating::pair::Pair;
use crate::derive::scan::key::Key;

/// Matings kept of one end face, the latest.
pub const MOST_TOUCHES: usize = 1000;

/// One mating of a conspicuous end face, seen from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Touch {
    /// When, microseconds UTC.
    pub at: i64,
    /// The end that it touched; [`Key::NONE`] where not identified.
    pub partner: Key,
    /// Code of the site of the mating.
    pub site: u32,
    /// Code of its stage.
    pub stage: u8,
    /// What was known of the partner before.
    pub before: EndState,
    /// How the partner came out.
    pub later: Later,
    /// A fault was behind that look.
    pub prompted: bool,
    /// The partner was in service at the period's end, as far as the register knows.
    pub in_service: bool,
    /// The mating itself was in force then.
    pub in_force: bool,
    /// What was known of the end face itself before.
    pub own_before: EndState,
    /// How the end face itself came out.
    pub own: Later,
}

/// An end face's matings of the months looked back.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct TimeLine {
    /// The end face.
    pub face: Key,
    /// When it was last cleaned after one of these matings, microseconds UTC.
    pub cleaned: Option<i64>,
    /// Its service had ended by the period's end, as the register says.
    pub retired: bool,
    /// In time order; the latest, if there are too many.
    pub touches: Vec<Touch>,
    /// How many there were.
    pub matings: i64,
}

impl TimeLine {
    fn cut(&mut self) {
        self.touches.sort_unstable();
        let early = self.touches.len().saturating_sub(MOST_TOUCHES);
        self.touches.drain(..early);
    }

    fn merge(&mut self, other: TimeLine) {
        self.touches.extend(other.touches);
        self.matings += other.matings;
        self.retired |= other.retired;
        self.cleaned = self.cleaned.max(other.cleaned);
        self.cut();
    }
}

/// Whose matings are collected, and when.
pub struct Wanted {
    /// End faces whose matings are collected.
    pub faces: FxHashSet<Key>,
    /// First instant of the months looked back, first after the period.
    pub span: (i64, i64),
}

impl Wanted {
    /// Whether a mating is one of theirs.
    pub fn takes(&self, row: &MatingRow) -> bool {
        (self.span.0..self.span.1).contains(&row.at)
            && row.ends.iter().any(|key| self.faces.contains(key))
    }
}

/// Time lines in the making.
pub type TimeLines = FxHashMap<Key, TimeLine>;

/// Adds one joined mating that [`Wanted::takes`].
pub fn add_touch(
    pair: &Pair,
    wanted: &Wanted,
    prompted: &FxHashSet<(u64, Key)>,
    lines: &mut TimeLines,
) {
    let period_end = wanted.span.1;
    for end in [0, 1] {
        let (key, partner) = (pair.row.ends[end], pair.row.ends[1 - end]);
        if !wanted.faces.contains(&key) {
            continue;
        }
        let line =
            lines.entry(key).or_insert_with(|| TimeLine { face: key, ..TimeLine::default() });
        line.matings += 1;
        let cleaned = pair.halves[end].map(|half| half.cleaned).filter(|at| *at != NEVER);
        line.cleaned = line.cleaned.max(cleaned);
        let half = pair.halves[1 - end];
        line.touches.push(Touch {
            at: pair.row.at,
            partner,
            site: pair.row.site,
            stage: pair.row.stage,
            before: half.map_or(EndState::Unseen, |half| EndState::of(half.state)),
            later: half.map_or(Later::Nothing, |half| Later::of(&half, period_end)),
            prompted: prompted.contains(&(pair.row.number, partner)),
            in_service: half.is_some_and(|half| half.in_service_to >= period_end),
            in_force: pair.in_force_end() >= period_end,
            own_before: pair.halves[end].map_or(EndState::Unseen, |half| EndState::of(half.state)),
            own: pair.halves[end].map_or(Later::Nothing, |half| Later::of(&half, period_end)),
        });
        line.retired |= pair.halves[end].is_some_and(|half| half.in_service_to < period_end);
        if line.touches.len() > 2 * MOST_TOUCHES {
            line.cut();
        }
    }
}

/// The time lines of several threads as one list, by end face.
pub fn gather(all: impl IntoIterator<Item = TimeLines>) -> Vec<TimeLine> {
    let mut lines = TimeLines::default();
    for (face, line) in all.into_iter().flatten() {
        lines.entry(face).or_insert_with(|| TimeLine { face, ..TimeLine::default() }).merge(line);
    }
    let mut lines: Vec<TimeLine> = lines.into_values().collect();
    lines.sort_by_key(|line| line.face);
    lines
}
