//! Lists by key, all in one: a map of vectors takes thrice the memory where most have one value.

use std::hash::Hash;
use std::ops::Range;

use rustc_hash::FxHashMap;

/// Values by key, those of one key side by side and rising, each once.
#[derive(Clone)]
pub struct Lists<K, V> {
    places: FxHashMap<K, Range<u32>>,
    values: Vec<V>,
}

impl<K, V> Default for Lists<K, V> {
    fn default() -> Self {
        Lists { places: FxHashMap::default(), values: Vec::new() }
    }
}

impl<K: Copy + Eq + Ord + Hash, V: Copy + Ord> Lists<K, V> {
    /// Of pairs in any order.
    pub fn of(mut pairs: Vec<(K, V)>) -> Self {
        pairs.sort_unstable();
        pairs.dedup();
        let mut lists = Lists::default();
        lists.values.reserve_exact(pairs.len());
        for same in pairs.chunk_by(|a, b| a.0 == b.0) {
            let from = lists.values.len() as u32;
            lists.values.extend(same.iter().map(|(_, value)| *value));
            lists.places.insert(same[0].0, from..lists.values.len() as u32);
        }
        lists
    }

    /// The values of a key; none where it is not known.
    pub fn get(&self, key: &K) -> Option<&[V]> {
        let place = self.places.get(key)?;
        Some(&self.values[place.start as usize..place.end as usize])
    }

    /// The keys that are known, in no order.
    pub fn keys(&self) -> impl Iterator<Item = K> {
        self.places.keys().copied()
    }

    /// Knows a key from now on, without a value if it has none.
    pub fn know(&mut self, key: K) {
        self.places.entry(key).or_insert(0..0);
    }
}
