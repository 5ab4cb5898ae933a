//! A mating with the halves that pass one found for its ends.

use crate::derive::face::event::{Half, MatingRow, NEVER, NO_MATING};

/// One mating, joined.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pair {
    /// What is known of it apart from its ends.
    pub row: MatingRow,
    /// By end; none where the end face is not identified.
    pub halves: [Option<Half>; 2],
}

impl Pair {
    /// The mating was in force from its time to this: the earliest of its demating, the next
    /// mating of either end and the end of service of either end (F2).
    pub fn in_force_end(&self) -> i64 {
        let ends = self.halves.iter().flatten();
        ends.fold(self.row.demated, |end, half| end.min(half.next_at).min(half.in_service_to))
            .max(self.row.at)
    }

    /// The next mating of both ends, where that is the same one: its time.
    pub fn rejoined_at(&self) -> Option<i64> {
        match self.halves {
            [Some(a), Some(b)] if a.next == b.next && a.next != NO_MATING && a.next_at != NEVER => {
                Some(a.next_at)
            }
            _ => None,
        }
    }
}

/// Joins one bucket: its matings and the halves of their ends, each in any order.
///
/// `first` is the number of the bucket's first mating. Numbers are dense, so the join is an index.
pub fn join(first: u64, rows: &[MatingRow], halves: &[Half]) -> Vec<Pair> {
    let place = |number: u64| number.checked_sub(first).map(|place| place as usize);
    let count = rows.iter().filter_map(|row| place(row.number)).max().map_or(0, |last| last + 1);
    let mut pairs = vec![Pair::default(); count];
    let mut present = vec![false; count];
    for row in rows {
        if let Some(at) = place(row.number) {
            pairs[at].row = *row;
            present[at] = true;
        }
    }
    for half in halves {
        if let Some(pair) = place(half.mating).and_then(|at| pairs.get_mut(at)) {
            pair.halves[usize::from(half.end.min(1))] = Some(*half);
        }
    }
    let mut kept = present.into_iter();
    pairs.retain(|_| kept.next().unwrap_or(false));
    pairs
}
