//! Cells of a count table that wait, packed in stretches, and their order once all are there.

use super::cells::Cell;
use super::counted::{Codes, Counted, Row};
use super::stretch::Stretch;

/// Packed cells of a table.
#[derive(Clone, Debug, Default)]
pub(super) struct Packed {
    stretches: Vec<Stretch>,
    /// Once they are sorted: stretch and place of every cell in the order of the codes, none of them twice and none
    /// without counts.
    order: Option<Vec<(u32, u32)>>,
}

impl Packed {
    /// Whether there are none.
    pub(super) fn is_empty(&self) -> bool {
        self.stretches.is_empty()
    }

    /// How many; cells that are in several stretches count in each, unless they are sorted.
    pub(super) fn len(&self) -> usize {
        let all = || self.stretches.iter().map(|stretch| stretch.count).sum();
        self.order.as_ref().map_or_else(all, Vec::len)
    }

    /// Whether they are in order, and none is there twice.
    pub(super) fn is_sorted(&self) -> bool {
        self.order.is_some() || self.is_empty()
    }

    /// Adds cells, without those of which what was counted was taken off again.
    pub(super) fn push<T: Counted>(&mut self, cells: &[Cell<T>]) {
        if cells.iter().any(|(_, row)| row.is_nothing()) {
            let some: Vec<Cell<T>> =
                cells.iter().copied().filter(|(_, row)| !row.is_nothing()).collect();
            return self.push::<T>(&some);
        }
        if !cells.is_empty() {
            self.reopen::<T>();
            self.stretches.push(Stretch::of::<T>(cells));
        }
    }

    /// Adds the cells of another.
    pub(super) fn append<T: Counted>(&mut self, mut other: Packed) {
        if self.is_empty() {
            *self = other;
        } else if !other.is_empty() {
            self.reopen::<T>();
            other.reopen::<T>();
            self.stretches.extend(other.stretches);
        }
    }

    /// More is to come. What was sorted is packed anew, since sums may stand beside what they are the sums of.
    fn reopen<T: Counted>(&mut self) {
        if self.order.is_some() {
            let cells: Vec<Cell<T>> = self.cells::<T>().collect();
            *self = Packed::default();
            if !cells.is_empty() {
                self.stretches.push(Stretch::of::<T>(&cells));
            }
        }
    }

    /// The cells in their order once they are sorted, else as they come.
    pub(super) fn cells<T: Counted>(&self) -> impl Iterator<Item = Cell<T>> {
        let sorted = self.order.iter().flatten();
        let sorted = sorted.map(|(stretch, place)| (&self.stretches[*stretch as usize], *place));
        let open = if self.order.is_some() { &[][..] } else { &self.stretches[..] };
        let open =
            open.iter().flat_map(|stretch| (0..stretch.count as u32).map(move |at| (stretch, at)));
        sorted.chain(open).filter_map(|(stretch, place)| stretch.cell::<T>(place as usize))
    }

    /// Puts them in order, adds up those of one cell, and leaves out what has no counts.
    pub(super) fn sort<T: Counted>(&mut self) {
        if self.is_sorted() {
            return;
        }
        let bits = self.bits::<T>();
        match bits.iter().sum::<u32>() {
            0..=64 => {
                let shifts = shifts(&bits);
                let mut places = self.places(
                    |stretch| joined(&bits, &stretch.codes) as u64,
                    |least, stretch, record| {
                        stretch.code_fields.iter().fold(*least, |joined, field| {
                            joined + (field.read(record) << shifts[usize::from(field.place)])
                        })
                    },
                );
                by_bytes(&mut places);
                self.settle::<T, u64>(&places);
            }
            65..=128 => {
                let whole = |_: &(), stretch: &Stretch, record: &[u8]| {
                    joined(&bits, stretch.codes::<T>(record).as_ref())
                };
                let mut places = self.places(|_| (), whole);
                places.sort_unstable_by_key(|(order, _, _)| *order);
                self.settle::<T, u128>(&places);
            }
            _ => {
                let whole = |_: &(), stretch: &Stretch, record: &[u8]| stretch.codes::<T>(record);
                let mut places = self.places(|_| (), whole);
                places.sort_unstable_by_key(|(order, _, _)| *order);
                self.settle::<T, Codes<T>>(&places);
            }
        }
    }

    /// Bits that the codes of each column need.
    fn bits<T: Counted>(&self) -> Vec<u32> {
        let mut bits = vec![0; T::ABOUT.columns.len()];
        for stretch in &self.stretches {
            let mut most: Vec<u64> = stretch.codes.iter().map(|least| (*least).into()).collect();
            for field in &stretch.code_fields {
                most[usize::from(field.place)] += field.own;
            }
            for (bits, most) in bits.iter_mut().zip(most) {
                // No code is above 32 bits, whatever its bytes could hold.
                *bits = u32::max(*bits, u64::BITS - most.min(u32::MAX.into()).leading_zeros());
            }
        }
        bits
    }

    /// What every cell is sorted by, with its stretch and place; `once` is worked out once a stretch.
    fn places<O, S>(
        &self,
        once: impl Fn(&Stretch) -> S,
        order: impl Fn(&S, &Stretch, &[u8]) -> O,
    ) -> Vec<(O, u32, u32)> {
        let mut places = Vec::with_capacity(self.len());
        for (number, stretch) in (0..).zip(&self.stretches) {
            let shared = once(stretch);
            let cells = (0..stretch.count).map(|place| {
                (order(&shared, stretch, stretch.record(place)), number, place as u32)
            });
            places.extend(cells);
        }
        places
    }

    /// Takes over the order of sorted places.
    fn settle<T: Counted, O: PartialEq>(&mut self, places: &[(O, u32, u32)]) {
        let mut order = Vec::with_capacity(places.len());
        let mut sums: Vec<Cell<T>> = Vec::new();
        let next = self.stretches.len() as u32;
        let cell = |(_, stretch, place): &(O, u32, u32)| {
            self.stretches[*stretch as usize].cell::<T>(*place as usize)
        };
        for same in places.chunk_by(|a, b| a.0 == b.0) {
            if let [(_, stretch, place)] = same {
                order.push((*stretch, *place));
                continue;
            }
            let mut cells = same.iter().filter_map(cell);
            let Some((key, mut sum)) = cells.next() else { continue };
            cells.for_each(|(_, row)| sum.add(&row));
            if !sum.is_nothing() {
                order.push((next, sums.len() as u32));
                sums.push((key, sum));
            }
        }
        if !sums.is_empty() {
            self.stretches.push(Stretch::of::<T>(&sums));
        }
        self.order = Some(order);
    }
}

/// By how many bits each code is shifted in a number that joins them.
fn shifts(bits: &[u32]) -> Vec<u32> {
    let mut below: u32 = bits.iter().sum();
    bits.iter()
        .map(|bits| {
            below -= bits;
            below
        })
        .collect()
}

/// Codes as one number of the same order.
fn joined(bits: &[u32], codes: &[u32]) -> u128 {
    let codes = codes.iter().zip(bits);
    codes.fold(0, |joined, (code, bits)| joined << bits | u128::from(*code))
}

/// Fewer places than this are compared, not counted.
const FEW: usize = 512;

/// Sorts by the number of each place: byte by byte from the last, each time keeping the order of those alike
/// (Knuth 1973, 5.2.5). Bytes in which all are alike are passed over.
fn by_bytes(places: &mut Vec<(u64, u32, u32)>) {
    if places.len() < FEW {
        places.sort_unstable_by_key(|(order, _, _)| *order);
        return;
    }
    let mut counts = vec![[0usize; 256]; size_of::<u64>()];
    for (order, _, _) in places.iter() {
        for (counts, byte) in counts.iter_mut().zip(order.to_le_bytes()) {
            counts[usize::from(byte)] += 1;
        }
    }
    let mut other = vec![(0, 0, 0); places.len()];
    for (byte, counts) in counts.iter_mut().enumerate() {
        if counts.contains(&places.len()) {
            continue;
        }
        let mut from = 0;
        for count in counts.iter_mut() {
            from += std::mem::replace(count, from);
        }
        for place in places.iter() {
            let next = &mut counts[usize::from(place.0.to_le_bytes()[byte])];
            other[*next] = *place;
            *next += 1;
        }
        std::mem::swap(places, &mut other);
    }
}
