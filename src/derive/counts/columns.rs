//! The cells of a count table column by column, for measures and for export.

use super::counted::{Counted, Key, Row};
use super::narrow::Narrow;
use super::order::{Digits, in_order};

/// Cells column by column.
pub struct Columns {
    /// By grouping column: the codes of all cells.
    pub codes: Vec<Narrow>,
    /// By figure: its counts in all cells.
    pub counts: Vec<Narrow>,
}

impl Columns {
    /// Without cells, with room for so many of the table.
    pub(super) fn with_room<T: Counted>(cells: usize) -> Columns {
        let empty = |count: usize| (0..count).map(|_| Narrow::with_room(cells)).collect();
        Columns { codes: empty(T::ABOUT.columns.len()), counts: empty(T::ABOUT.figures.len()) }
    }

    /// Adds a cell, its codes exchanged for `place(column, code)`.
    pub(super) fn push<T: Counted>(
        &mut self,
        (key, row): (T::Key, T::Row),
        place: &dyn Fn(usize, u32) -> u32,
    ) {
        for ((at, codes), code) in self.codes.iter_mut().enumerate().zip(key.codes().as_ref()) {
            codes.push(place(at, *code).into());
        }
        for (counts, count) in self.counts.iter_mut().zip(row.values().as_ref()) {
            counts.push(*count);
        }
    }

    /// The cells, none of which may be there twice, in the order of their codes.
    pub(super) fn in_order(mut self) -> Columns {
        let by: Vec<Digits> = self.codes.iter().map(Digits::of).collect();
        if let Some(order) = in_order(&by) {
            let columns = self.codes.iter_mut().chain(&mut self.counts);
            columns.for_each(|column| *column = column.in_order(&order));
        }
        self
    }
}
