//! A set that may say yes too often: enough for those who only ask what might be wanted, in two bytes a member.
//!
//! Bloom BH (1970), Space/time trade-offs in hash coding with allowable errors, Communications of the ACM 13:422-426: with 16
//! bits a member and 6 places the share of wrong yeses is (1 - e^(-6/16))^6, 0.1 %. The places of a member are those of
//! Kirsch & Mitzenmacher (2008), Random Structures & Algorithms 33:187-218: two hashes h and g make h + i g.

use serde::{Deserialize, Serialize};

use crate::derive::scan::key::Key;

const BITS_OF_MEMBER: usize = 16;
const PLACES: u64 = 6;

/// A set of hashes that may hold more than was put in, never less.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Filter {
    words: Vec<u64>,
}

impl Filter {
    /// Empty, with room for at most so many members.
    pub fn with_room(count: usize) -> Filter {
        Filter { words: vec![0; (count * BITS_OF_MEMBER).div_ceil(64)] }
    }

    /// Adds a member; nothing where there is no room for any.
    pub fn add(&mut self, member: Key) {
        let bits = self.words.len() as u64 * 64;
        if bits > 0 {
            for place in places(member, bits) {
                self.words[(place / 64) as usize] |= 1 << (place % 64);
            }
        }
    }

    /// The members of both, which must have the same room.
    pub fn merge(mut self, other: Filter) -> Filter {
        self.words.resize(other.words.len().max(self.words.len()), 0);
        self.words.iter_mut().zip(other.words).for_each(|(own, more)| *own |= more);
        self
    }

    /// Whether it may hold this one.
    pub fn may_hold(&self, member: Key) -> bool {
        let bits = self.words.len() as u64 * 64;
        bits > 0
            && places(member, bits)
                .all(|place| self.words[(place / 64) as usize] & 1 << (place % 64) != 0)
    }
}

/// Keys are hashes already: their halves are the two that are needed.
fn places(member: Key, bits: u64) -> impl Iterator<Item = u64> {
    let step = member.low | 1;
    (0..PLACES).map(move |place| member.high.wrapping_add(place.wrapping_mul(step)) % bits)
}
