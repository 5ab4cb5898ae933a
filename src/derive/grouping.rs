//! Rows of small numbers grouped by one number a row, in which the columns are digits of mixed radix.
//!
//! Promises groups in the order of the columns. Stops at tables of which each column is a list of places.

use std::sync::Arc;

use super::counts::{Digits, Narrow, by_number};

/// Every group that is possible gets a place where there are at most so many for each row that counts; where the
/// columns could make more, rows are put in the order of their groups.
pub(super) const PLACES_A_ROW: u64 = 4;

/// A column of places of display, or of what rises with two such columns.
pub(super) struct Codes {
    pub(super) of: Narrow,
    /// One more than the largest of them, at least 1.
    pub(super) count: u64,
}

impl Codes {
    pub(super) fn of(of: Narrow) -> Codes {
        let count = Digits::of(&of).count;
        Codes { of, count }
    }

    /// The place of a row.
    pub(super) fn at(&self, row: u32) -> u32 {
        self.of.at(row) as u32
    }

    /// What rises with both columns, the first one before the other, without gaps.
    pub(super) fn of_both(high: &Codes, low: &Codes) -> Codes {
        let pair = |(high, low): (i64, i64)| (high as u64) << 32 | low as u64;
        let numbers: Vec<u64> = high.of.iter().zip(low.of.iter()).map(pair).collect();
        let mut of = vec![0; numbers.len()];
        let mut count = 0;
        let mut before = None;
        for row in by_number((0..numbers.len() as u32).collect(), &numbers, u64::MAX) {
            let number = numbers[row as usize];
            count += u32::from(before != Some(number));
            before = Some(number);
            of[row as usize] = count - 1;
        }
        Codes { of: Narrow::Words(of), count: u64::from(count).max(1) }
    }
}

/// How many groups the columns could make; none where that is beyond a number.
pub(super) fn possible(by: &[Arc<Codes>]) -> Option<u64> {
    by.iter().try_fold(1_u64, |all, codes| all.checked_mul(codes.count))
}

/// Rows that count, and the columns that they are grouped by.
pub(super) struct Asked<'a> {
    pub(super) by: &'a [&'a Arc<Codes>],
    /// Columns that make the same groups in the same order.
    pub(super) narrow: &'a [Arc<Codes>],
    pub(super) rows: &'a [u32],
}

/// The places of every group in their order, column by column, and the group of every row.
pub(super) type Groups = (Vec<u32>, Vec<u32>);

impl Asked<'_> {
    /// Where every group that is possible has a place.
    pub(super) fn numbered(&self, possible: usize) -> Groups {
        let Asked { by, narrow, rows } = *self;
        let mut group_of = vec![0_u32; rows.len()];
        for codes in narrow {
            let count = codes.count as u32;
            codes.of.each(rows, |at, code| group_of[at] = group_of[at] * count + code as u32);
        }
        let mut first = vec![u32::MAX; possible];
        for (row, number) in rows.iter().zip(&group_of).rev() {
            first[*number as usize] = *row;
        }
        let mut places = Vec::new();
        for (group, first) in (0..).zip(first.iter_mut().filter(|row| **row != u32::MAX)) {
            places.extend(by.iter().map(|codes| codes.at(*first)));
            *first = group;
        }
        group_of.iter_mut().for_each(|number| *number = first[*number as usize]);
        (places, group_of)
    }

    /// Where there are too many for that, by the order of the rows.
    pub(super) fn ordered(&self, possible: u64) -> Groups {
        let numbers = self.numbers();
        let (mut places, mut group_of) = (Vec::new(), vec![0; numbers.len()]);
        let (mut count, mut before) = (0_u32, None);
        for at in by_number((0..numbers.len() as u32).collect(), &numbers, possible) {
            let number = numbers[at as usize];
            if before != Some(number) {
                before = Some(number);
                count += 1;
                let row = self.rows[at as usize];
                places.extend(self.by.iter().map(|codes| codes.at(row)));
            }
            group_of[at as usize] = count - 1;
        }
        (places, group_of)
    }

    /// The places of every row as one number. The product of all counts must fit.
    pub(super) fn numbers(&self) -> Vec<u64> {
        let mut numbers = vec![0_u64; self.rows.len()];
        for codes in self.narrow {
            let count = codes.count;
            codes.of.each(self.rows, |at, code| numbers[at] = numbers[at] * count + code as u64);
        }
        numbers
    }
}
