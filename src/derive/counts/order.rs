//! Rows in the order of several columns: as digits of one number where that holds them, of several otherwise, the last of
//! which come first (Knuth 1973, 5.2.5).

use super::narrow::Narrow;

/// Bits by which rows are put in order at once: their counts stay in the cache.
const DIGIT: u32 = 11;

/// A column of codes, none of which is negative.
#[derive(Clone, Copy)]
pub struct Digits<'a> {
    /// The codes.
    pub of: &'a Narrow,
    /// One more than the largest of them, at least 1.
    pub count: u64,
}

impl<'a> Digits<'a> {
    /// Of a column.
    pub fn of(column: &'a Narrow) -> Digits<'a> {
        Digits { of: column, count: column.iter().max().unwrap_or(0) as u64 + 1 }
    }
}

/// The rows in the order of the columns; none where they are so already.
pub(super) fn in_order(by: &[Digits]) -> Option<Vec<u32>> {
    let rows = by.first().map_or(0, |column| column.of.len() as u32);
    let codes = |row: u32| by.iter().map(move |column| column.of.at(row));
    if (1..rows).all(|row| codes(row - 1).le(codes(row))) {
        return None;
    }
    let mut order: Vec<u32> = (0..rows).collect();
    let mut rest = by;
    while !rest.is_empty() {
        let (mut from, mut possible) = (rest.len(), 1_u64);
        while let Some(more) =
            from.checked_sub(1).and_then(|at| possible.checked_mul(rest[at].count))
        {
            (from, possible) = (from - 1, more);
        }
        let own = &rest[from..];
        rest = &rest[..from];
        order = by_number(order, &mixed(own, rows), possible);
    }
    Some(order)
}

/// The codes of every row as one number, which rises in their order. The product of all counts must fit.
fn mixed(by: &[Digits], rows: u32) -> Vec<u64> {
    let mut numbers = vec![0; rows as usize];
    for column in by {
        for (number, code) in numbers.iter_mut().zip(column.of.iter()) {
            *number = *number * column.count + code as u64;
        }
    }
    numbers
}

/// The places by their numbers, all of which are below `end`, in rising order, those of equal numbers as they stood.
/// Packed cells have a sort of their own (`packed.rs`): it moves numbers along with their places, and passes over bytes alike.
pub(in crate::derive) fn by_number(mut order: Vec<u32>, numbers: &[u64], end: u64) -> Vec<u32> {
    let mut next = vec![0; order.len()];
    let bits = u64::BITS - end.saturating_sub(1).leading_zeros();
    for shift in (0..bits).step_by(DIGIT as usize) {
        let digit = |number: u64| (number >> shift) as usize & ((1 << DIGIT) - 1);
        let mut from = [0_u32; 1 << DIGIT];
        order.iter().for_each(|at| from[digit(numbers[*at as usize])] += 1);
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
