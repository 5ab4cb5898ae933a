//! Where the names of looks and of matings stand apart (R8): the same end faces, written in two ways, look as if
//! nobody had looked.
//!
//! Judged by site, source of matings, end and quarter. One direction alone is no proof: panels are looked at port by
//! port and rarely patched, and who skips mates what nobody looked at. Nor are two where the register names both.

use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use super::event::{Event, flag, kind};
use crate::calendar::Cuts;
use crate::settings::Rules;

/// Fewer end faces than this, looked at or mated, prove nothing.
pub const LEAST_FACES: u64 = 20;

/// Ends of matings whose names are judged together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct NamedEnds {
    /// Code of the site.
    pub site: u32,
    /// Place of the source of matings by name.
    pub source: u16,
    /// 0 for end a, 1 for end b.
    pub end: u8,
    /// Piece of the calendar's quarters.
    pub quarter: u32,
}

/// End faces that looks of one site and quarter name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Looked {
    faces: u64,
    registered: u64,
}

/// End faces that matings name, by [`NamedEnds`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Mated {
    faces: u64,
    registered: u64,
    looked_at: u64,
}

/// Distinct end faces by where and when they were looked at and mated. Every end face is added once.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Meeting {
    looked: FxHashMap<(u32, u32), Looked>,
    mated: FxHashMap<NamedEnds, Mated>,
    /// Of the end face being added.
    #[serde(skip)]
    looks: Vec<(u32, u32)>,
    #[serde(skip)]
    ends: Vec<NamedEnds>,
}

/// The ends of matings whose names stand apart from those of looks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Apart(FxHashSet<NamedEnds>);

impl Apart {
    /// Whether the names of all ends meet.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether the names of these ends stand apart.
    pub fn holds(&self, ends: NamedEnds) -> bool {
        self.0.contains(&ends)
    }
}

impl Meeting {
    /// Adds one end face by its events, which are in order of time but for the register's.
    pub fn add(&mut self, events: &[Event], quarters: &Cuts) {
        self.looks.clear();
        self.ends.clear();
        let mut registered = false;
        let mut quarter = Quarter::default();
        for event in events {
            match event.kind {
                kind::REGISTER => registered = true,
                kind::LOOK => {
                    let Some(piece) = quarter.of(event.at, quarters) else { continue };
                    note(&mut self.looks, (event.site, piece));
                }
                kind::MATING => {
                    let Some(piece) = quarter.of(event.at, quarters) else { continue };
                    let end = u8::from(event.has(flag::END_B));
                    let (site, source) = (event.site, event.source);
                    note(&mut self.ends, NamedEnds { site, source, end, quarter: piece });
                }
                _ => {}
            }
        }
        let registered = u64::from(registered);
        for looked in &self.looks {
            let all = self.looked.entry(*looked).or_default();
            all.faces += 1;
            all.registered += registered;
        }
        for ends in &self.ends {
            let all = self.mated.entry(*ends).or_default();
            all.faces += 1;
            all.registered += registered;
            all.looked_at += u64::from(self.looks.contains(&(ends.site, ends.quarter)));
        }
    }

    /// That of the end faces added to either.
    pub fn merge(mut self, other: Meeting) -> Meeting {
        for (key, more) in other.looked {
            let all = self.looked.entry(key).or_default();
            all.faces += more.faces;
            all.registered += more.registered;
        }
        for (key, more) in other.mated {
            let all = self.mated.entry(key).or_default();
            all.faces += more.faces;
            all.registered += more.registered;
            all.looked_at += more.looked_at;
        }
        self
    }

    /// The ends whose names stand apart.
    pub fn apart(&self, rules: &Rules) -> Apart {
        let least = rules.least_meeting;
        let few = |part: u64, all: u64| (part as f64) < least * all as f64;
        let is_apart = |ends: &NamedEnds, mated: &Mated| {
            let Some(looked) = self.looked.get(&(ends.site, ends.quarter)) else { return false };
            let both = mated.looked_at;
            let named =
                !few(mated.registered, mated.faces) && !few(looked.registered, looked.faces);
            mated.faces >= LEAST_FACES
                && looked.faces >= LEAST_FACES
                && few(both, mated.faces)
                && few(both, looked.faces)
                && !named
        };
        let apart = self.mated.iter().filter(|(ends, mated)| is_apart(ends, mated));
        Apart(apart.map(|(ends, _)| *ends).collect())
    }
}

/// The quarter of one event after the other: neighbours nearly always share it.
#[derive(Default)]
struct Quarter {
    piece: Option<u32>,
    from: i64,
    before: i64,
}

impl Quarter {
    fn of(&mut self, at: i64, quarters: &Cuts) -> Option<u32> {
        if !(self.from..self.before).contains(&at) {
            self.piece = quarters.piece(at);
            (self.from, self.before) = match self.piece {
                Some(piece) => (quarters.start(piece), quarters.start(piece + 1)),
                None => (at, at.saturating_add(1)),
            };
        }
        self.piece
    }
}

/// Adds a value that is not there yet; nearly always it is the last one again.
fn note<T: Copy + PartialEq>(known: &mut Vec<T>, value: T) {
    if known.last() != Some(&value) && !known.contains(&value) {
        known.push(value);
    }
}
