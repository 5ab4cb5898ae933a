//! What hangs together, in some 30 bytes a thing.
//!
//! Tarjan RE (1975), Efficiency of a good but not linear set union algorithm, Journal of the ACM 22:215-225; sets are joined by the
//! lowest of their hashes in place of their sizes, so that a set is told by the same number in whatever order it was
//! joined: a task that runs again must come to the same.

use rustc_hash::FxHashMap;
use xxhash_rust::xxh3::xxh3_64;

/// Bits that look drawn.
pub fn mixed(bits: u64) -> u64 {
    xxh3_64(&bits.to_le_bytes())
}

/// Sets of things, each known by 64 bits that look drawn. Two things of the same bits are taken for one.
#[derive(Debug, Default)]
pub struct Together {
    places: FxHashMap<u64, u32>,
    hashes: Vec<u64>,
    above: Vec<u32>,
}

impl Together {
    fn place(&mut self, thing: u64) -> u32 {
        let next = self.hashes.len() as u32;
        *self.places.entry(thing).or_insert_with(|| {
            self.hashes.push(thing);
            self.above.push(next);
            next
        })
    }

    fn root(&mut self, mut place: u32) -> u32 {
        loop {
            let above = self.above[place as usize];
            if above == place {
                return place;
            }
            // Every other step is left out from now on.
            let next = self.above[above as usize];
            self.above[place as usize] = next;
            place = next;
        }
    }

    /// Whether a thing was joined with anything, be it itself alone.
    pub fn knows(&self, thing: u64) -> bool {
        self.places.contains_key(&thing)
    }

    /// Joins things, and all that each was joined with.
    pub fn join(&mut self, things: impl IntoIterator<Item = u64>) {
        let mut known: Option<u32> = None;
        for thing in things {
            let place = self.place(thing);
            let own = self.root(place);
            let all = known.unwrap_or(own);
            let is_lower = self.hashes[own as usize] < self.hashes[all as usize];
            let (low, high) = if is_lower { (own, all) } else { (all, own) };
            self.above[high as usize] = low;
            known = Some(low);
        }
    }

    /// Which of so many groups the set of a thing is in; none where it was never joined.
    pub fn group(&mut self, thing: u64, count: usize) -> Option<usize> {
        let place = *self.places.get(&thing)?;
        let root = self.root(place);
        Some(group_of(self.hashes[root as usize], count))
    }
}

/// The group of a set that consists of one thing.
pub fn group_of(thing: u64, count: usize) -> usize {
    (mixed(thing) % count.max(1) as u64) as usize
}
