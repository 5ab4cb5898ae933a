//! The cells of a count table that is being filled: rows one after the other in memory, found through a
//! small table of places. Growing moves places, not rows, and emptying keeps the room.

use super::table::{Counted, Key, Row};

/// A cell with its counts.
pub(super) type Cell<T> = (<T as Counted>::Key, <T as Counted>::Row);

/// Fewest slots once there is a cell.
const FEWEST_SLOTS: usize = 64;

/// Open cells of a table, in the order in which they were met.
pub(super) struct Cells<T: Counted> {
    /// A power of two of them, or none: upper half of the hash, then the place plus 1; 0 where empty.
    slots: Vec<u64>,
    cells: Vec<Cell<T>>,
}

impl<T: Counted> Default for Cells<T> {
    fn default() -> Self {
        Cells { slots: Vec::new(), cells: Vec::new() }
    }
}

impl<T: Counted> Clone for Cells<T> {
    fn clone(&self) -> Self {
        Cells { slots: self.slots.clone(), cells: self.cells.clone() }
    }
}

/// Hash of a cell: two codes at a time, each pair folded by a product of 128 bits, whose upper half mixes all
/// bits (the multiply and fold of wyhash, Wang Yi 2019).
#[inline]
fn hash(codes: &[u32]) -> u64 {
    let mut hash = 0x2D35_8DCC_AA6C_78A5_u64;
    for pair in codes.chunks(2) {
        let word = u64::from(pair[0]) | pair.get(1).map_or(0, |code| u64::from(*code) << 32);
        let product =
            u128::from(hash ^ word).wrapping_mul(0x9E37_79B9_7F4A_7C15_8BB8_4B93_962E_ACC9);
        hash = (product as u64) ^ (product >> 64) as u64;
    }
    hash
}

const PLACE: u64 = 0xFFFF_FFFF;

impl<T: Counted> Cells<T> {
    /// Adds counts to a cell.
    #[inline]
    pub(super) fn add(&mut self, cell: T::Key, row: &T::Row) {
        if 4 * self.cells.len() >= 3 * self.slots.len() {
            self.grow();
        }
        let hash = hash(cell.codes().as_ref());
        let (tag, mask) = (hash & !PLACE, self.slots.len() - 1);
        let mut slot = hash as usize & mask;
        loop {
            let held = self.slots[slot];
            if held == 0 {
                self.slots[slot] = tag | (self.cells.len() as u64 + 1);
                self.cells.push((cell, *row));
                return;
            }
            let known = &mut self.cells[(held & PLACE) as usize - 1];
            if held & !PLACE == tag && known.0 == cell {
                known.1.add(row);
                return;
            }
            slot = (slot + 1) & mask;
        }
    }

    #[cold]
    fn grow(&mut self) {
        let slots = (2 * self.slots.len()).max(FEWEST_SLOTS);
        self.slots.clear();
        self.slots.resize(slots, 0);
        for (place, (cell, _)) in (1..).zip(&self.cells) {
            let hash = hash(cell.codes().as_ref());
            let mut slot = hash as usize & (slots - 1);
            while self.slots[slot] != 0 {
                slot = (slot + 1) & (slots - 1);
            }
            self.slots[slot] = hash & !PLACE | place;
        }
    }

    /// The cells in the order in which they were met.
    pub(super) fn as_slice(&self) -> &[Cell<T>] {
        &self.cells
    }

    /// Throws them away and keeps the room.
    pub(super) fn clear(&mut self) {
        self.slots.fill(0);
        self.cells.clear();
    }
}
