//! Rows of small numbers grouped by one number a row, in which the columns are digits of mixed radix.
//!
//! Promises groups in the order of the columns. Stops at tables of which each column is a list of places.

use std::sync::Arc;

/// Every group that is possible gets a place where there are at most so many for each row that counts; where the
/// columns could make more, rows are put in the order of their groups.
pub(super) const PLACES_A_ROW: u64 = 4;
/// Bits by which rows are put in order at once: their counts stay in the cache.
const DIGIT: u32 = 11;

/// A column of places of display, or of what rises with two such columns.
pub(super) struct Codes {
    pub(super) of: Vec<u32>,
    /// One more than the largest of them, at least 1.
    pub(super) count: u64,
}

impl Codes {
    pub(super) fn of(codes: &[u32]) -> Codes {
        let most = codes.iter().copied().max().unwrap_or(0);
        Codes { of: codes.to_vec(), count: u64::from(most) + 1 }
    }

    /// What rises with both columns, the first one before the other, without gaps.
    pub(super) fn of_both(high: &Codes, low: &Codes) -> Codes {
        let pair = |(high, low): (&u32, &u32)| u64::from(*high) << 32 | u64::from(*low);
        let numbers: Vec<u64> = high.of.iter().zip(&low.of).map(pair).collect();
        let mut of = vec![0; numbers.len()];
        let mut count = 0;
        let mut before = None;
        for row in in_order(&numbers, u64::MAX) {
            let number = numbers[row as usize];
            count += u32::from(before != Some(number));
            before = Some(number);
            of[row as usize] = count - 1;
        }
        Codes { of, count: u64::from(count).max(1) }
    }
}

/// How many groups the columns could make; none where that is beyond a number.
pub(super) fn possible(by: &[Arc<Codes>]) -> Option<u64> {
    by.iter().try_fold(1_u64, |all, codes| all.checked_mul(codes.count))
}

/// A row's places as one number, which rises in their order. The product of all counts must fit.
fn mixed(by: &[Arc<Codes>], row: u32) -> u64 {
    by.iter().fold(0, |number, codes| number * codes.count + u64::from(codes.of[row as usize]))
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
        let mut group_of: Vec<u32> = rows.iter().map(|row| mixed(narrow, *row) as u32).collect();
        let mut first = vec![u32::MAX; possible];
        for (row, number) in rows.iter().zip(&group_of).rev() {
            first[*number as usize] = *row;
        }
        let mut places = Vec::new();
        for (group, first) in (0..).zip(first.iter_mut().filter(|row| **row != u32::MAX)) {
            places.extend(by.iter().map(|codes| codes.of[*first as usize]));
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
        for at in in_order(&numbers, possible) {
            let number = numbers[at as usize];
            if before != Some(number) {
                before = Some(number);
                count += 1;
                let row = self.rows[at as usize] as usize;
                places.extend(self.by.iter().map(|codes| codes.of[row]));
            }
            group_of[at as usize] = count - 1;
        }
        (places, group_of)
    }

    /// The places of every row as one number. The product of all counts must fit.
    pub(super) fn numbers(&self) -> Vec<u64> {
        self.rows.iter().map(|row| mixed(self.narrow, *row)).collect()
    }
}

/// The places of the numbers, all of which are below `end`, in rising order: digit by digit, the lowest first.
fn in_order(numbers: &[u64], end: u64) -> Vec<u32> {
    let mut order: Vec<u32> = (0..numbers.len() as u32).collect();
    let mut next = vec![0; order.len()];
    let bits = u64::BITS - end.saturating_sub(1).leading_zeros();
    for shift in (0..bits).step_by(DIGIT as usize) {
        let digit = |number: u64| (number >> shift) as usize & ((1 << DIGIT) - 1);
        let mut from = [0_u32; 1 << DIGIT];
        numbers.iter().for_each(|number| from[digit(*number)] += 1);
        let mut before = 0;
        for count in &mut from {
            before += std::mem::replace(count, before);
        }
        for at in &order {
            let place = &mut from[digit(numbers[*at as usize])];
            next[*place as usize] = *at;
            *place += 1;
        }
        std::mem::swap(&mut order, &mut next);
    }
    order
}
