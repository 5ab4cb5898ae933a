//! A bounded list: the first few of every cell, whatever the number that was offered.

use std::collections::BinaryHeap;
use std::hash::Hash;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

/// The first `most` items of every cell in the order of the items, and how many there were.
///
/// Items have a total order and no two are equal, so what is kept depends neither on the order in
/// which they came nor on how they were shared out: merging two lists gives the list of both.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "C: Deserialize<'de> + Eq + Hash, T: Deserialize<'de> + Ord"))]
pub struct Shortlist<C, T> {
    most: usize,
    cells: FxHashMap<C, First<T>>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(bound(deserialize = "T: Deserialize<'de> + Ord"))]
struct First<T> {
    /// The last of those kept on top.
    kept: BinaryHeap<T>,
    seen: u64,
}

impl<C: Copy + Eq + Hash, T: Clone + Ord> Shortlist<C, T> {
    /// An empty list that keeps `most` items a cell.
    pub fn keeping(most: usize) -> Self {
        Shortlist { most, cells: FxHashMap::default() }
    }

    /// Offers an item.
    pub fn add(&mut self, cell: C, item: T) {
        let most = self.most;
        let own = self.cell(cell);
        own.seen += 1;
        own.offer(item, most);
    }

    /// The list of all that was offered to either.
    pub fn merge(mut self, other: Self) -> Self {
        self.most = self.most.max(other.most);
        let most = self.most;
        for (cell, first) in other.cells {
            let own = self.cell(cell);
            own.seen += first.seen;
            for item in first.kept {
                own.offer(item, most);
            }
        }
        self
    }

    fn cell(&mut self, cell: C) -> &mut First<T> {
        self.cells.entry(cell).or_insert_with(|| First { kept: BinaryHeap::new(), seen: 0 })
    }

    /// How many were offered.
    pub fn seen(&self) -> u64 {
        self.cells.values().map(|first| first.seen).sum()
    }

    /// How many are kept.
    pub fn len(&self) -> usize {
        self.cells.values().map(|first| first.kept.len()).sum()
    }

    /// Whether none is kept.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// What is kept, in the order of the items.
    pub fn items(&self) -> Vec<T> {
        let mut items: Vec<T> =
            self.cells.values().flat_map(|first| first.kept.iter().cloned()).collect();
        items.sort_unstable();
        items
    }
}

impl<T: Ord> First<T> {
    fn offer(&mut self, item: T, most: usize) {
        if self.kept.len() < most {
            self.kept.push(item);
        } else if let Some(mut last) = self.kept.peek_mut()
            && item < *last
        {
            *last = item;
        }
    }
}

impl<C: Copy + Eq + Hash, T: Clone + Ord> PartialEq for Shortlist<C, T> {
    /// The same items were kept of as many. How many would be kept plays no part: a list that
    /// nothing was offered to equals any other of that kind.
    fn eq(&self, other: &Self) -> bool {
        self.seen() == other.seen() && self.items() == other.items()
    }
}

impl<C: Copy + Eq + Hash, T: Clone + Ord> Eq for Shortlist<C, T> {}
