//! A count table: integers by cell, an off-table figure, and a total that they must add up to.

use std::fmt::Debug;

pub use super::about::{ColumnAbout, FigureAbout, TableAbout, Unit};
use super::cells::Cells;
pub use super::columns::Columns;
pub use super::counted::{Codes, Counted, Figures, Has, Key, Row};
use super::packed::Packed;
use crate::derive::DeriveError;

/// Counts by cell.
///
/// Merging is addition, so any split of the rows gives the same table; integers, so sums do not
/// depend on their order. Rows are added to cells that lie open; [`CountTable::close`] packs them
/// and leaves the open ones empty, so that a pass which closes its tables after each share of the
/// rows works with cells that are few enough for the cache.
pub struct CountTable<T: Counted> {
    open: Cells<T>,
    packed: Packed,
    off_table: T::Row,
    total: T::Row,
    /// It was too large to be kept: whatever is added is off the table.
    given_up: bool,
}

impl<T: Counted> Default for CountTable<T> {
    fn default() -> Self {
        let (off_table, total) = (T::Row::default(), T::Row::default());
        let (open, packed) = (Cells::default(), Packed::default());
        CountTable { open, packed, off_table, total, given_up: false }
    }
}

impl<T: Counted> Clone for CountTable<T> {
    fn clone(&self) -> Self {
        CountTable { open: self.open.clone(), packed: self.packed.clone(), ..*self }
    }
}

impl<T: Counted> PartialEq for CountTable<T> {
    fn eq(&self, other: &Self) -> bool {
        (self.off_table, self.total, self.cells()) == (other.off_table, other.total, other.cells())
    }
}

impl<T: Counted> Eq for CountTable<T> {}

impl<T: Counted> Debug for CountTable<T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut shown = f.debug_struct(T::ABOUT.name);
        shown.field("cells", &self.cells()).field("off_table", &self.off_table);
        shown.field("total", &self.total).finish()
    }
}

impl<T: Counted> CountTable<T> {
    /// One that was made elsewhere: cells in the order of their codes, what is off the table, and the total.
    pub(super) fn carried(
        cells: &[(T::Key, T::Row)],
        (off_table, total): (T::Row, T::Row),
        given_up: bool,
    ) -> Self {
        let mut packed = Packed::default();
        packed.push::<T>(cells);
        packed.sort::<T>();
        CountTable { open: Cells::default(), packed, off_table, total, given_up }
    }

    /// Adds counts to a cell, or off the table where they belong to none. A cell without counts is
    /// none: that nothing was counted must not make a row.
    pub fn add(&mut self, cell: Option<T::Key>, row: T::Row) {
        if row.is_nothing() {
            return;
        }
        self.total.add(&row);
        match cell {
            Some(cell) if !self.given_up => self.open.add(cell, &row),
            _ => self.off_table.add(&row),
        }
    }

    /// Adds another share of the same table.
    pub fn merge(mut self, mut other: Self) -> Self {
        self.off_table.add(&other.off_table);
        self.total.add(&other.total);
        if self.given_up || other.given_up {
            self.give_up();
            return self;
        }
        if self.open.as_slice().len() < other.open.as_slice().len() {
            std::mem::swap(&mut self.open, &mut other.open);
        }
        for (cell, row) in other.open.as_slice() {
            self.open.add(*cell, row);
        }
        self.packed.append::<T>(other.packed);
        self
    }

    /// Packs the open cells.
    pub fn close(&mut self) {
        self.packed.push::<T>(self.open.as_slice());
        self.open.clear();
    }

    /// Packs all cells in the order of their codes: nothing more is to be added.
    pub fn settle(&mut self) {
        self.close();
        self.packed.sort::<T>();
        self.open = Cells::default();
    }

    /// Adds what one table has more than another: what differs between two ways to count the same. Cells alike in both
    /// leave nothing behind.
    pub fn add_difference(&mut self, more: &Self, less: &Self) {
        let negative = |row: T::Row| {
            let mut values = row.values();
            values.as_mut().iter_mut().for_each(|figure| *figure = -*figure);
            T::Row::of(values)
        };
        let mut changes = Cells::<T>::default();
        more.cells().iter().for_each(|(cell, row)| changes.add(*cell, row));
        less.cells().iter().for_each(|(cell, row)| changes.add(*cell, &negative(*row)));
        changes.as_slice().iter().for_each(|(cell, row)| self.add(Some(*cell), *row));
        let mut off_table = more.off_table;
        off_table.add(&negative(less.off_table));
        self.add(None, off_table);
    }

    /// The cells in order of their codes.
    pub fn cells(&self) -> Vec<(T::Key, T::Row)> {
        if self.is_settled() {
            return self.packed.cells::<T>().collect();
        }
        let mut packed = self.packed.clone();
        packed.push::<T>(self.open.as_slice());
        packed.sort::<T>();
        packed.cells::<T>().collect()
    }

    /// Tells of every cell in the order of their codes.
    pub fn each(&self, each: impl FnMut((T::Key, T::Row))) {
        match self.is_settled() {
            true => self.packed.cells::<T>().for_each(each),
            false => self.cells().into_iter().for_each(each),
        }
    }

    /// The same as they come: a cell that was closed several times comes as often, each time with a part of its counts.
    pub fn parts(&self) -> impl Iterator<Item = (T::Key, T::Row)> {
        self.packed.cells::<T>().chain(self.open.as_slice().iter().copied())
    }

    /// Whether the cells are in order.
    fn is_settled(&self) -> bool {
        self.open.as_slice().is_empty() && self.packed.is_sorted()
    }

    /// The same as plain numbers: codes and figures in the order of the declaration.
    pub fn coded(&self) -> Vec<(Codes<T>, Figures<T>)> {
        self.cells().into_iter().map(|(cell, row)| (cell.codes(), row.values())).collect()
    }

    /// What fell in none of the cells.
    pub fn off_table(&self) -> T::Row {
        self.off_table
    }

    /// Everything that was added.
    pub fn total(&self) -> T::Row {
        self.total
    }

    /// How many cells have counts.
    pub fn len(&self) -> usize {
        if self.is_settled() { self.packed.len() } else { self.cells().len() }
    }

    /// How many cells the condition holds for.
    pub fn count(&self, holds: impl Fn(&T::Key) -> bool) -> usize {
        self.cells().iter().filter(|(cell, _)| holds(cell)).count()
    }

    /// Whether no cell has counts.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Throws the cells away and leaves their sum off the table.
    pub fn clear(&mut self) {
        (self.open, self.packed) = (Cells::default(), Packed::default());
        self.off_table = self.total;
    }

    /// The same for good: whatever is added or merged is off the table, too.
    pub fn give_up(&mut self) {
        self.clear();
        self.given_up = true;
    }

    /// Whether it was.
    pub fn is_given_up(&self) -> bool {
        self.given_up
    }

    /// Gives it up if it has more packed cells than that. Cells must be in order to be counted: while more
    /// come they are put in order only once there are a quarter more than that.
    pub fn give_up_beyond(&mut self, most: usize) {
        let room = if self.packed.is_sorted() { 0 } else { most / 4 };
        if self.packed.len() > most + room {
            self.packed.sort::<T>();
            if self.packed.len() > most {
                self.give_up();
            }
        }
    }

    /// Cells plus off-table must be the total.
    ///
    /// # Errors
    /// Names the table and the figure that does not add up.
    pub fn check(&self) -> Result<(), DeriveError> {
        let mut sum = self.off_table;
        self.parts().for_each(|(_, row)| sum.add(&row));
        let (sums, totals) = (sum.values(), self.total.values());
        let pairs = sums.as_ref().iter().zip(totals.as_ref()).zip(T::ABOUT.figures);
        for ((cells, total), figure) in pairs {
            if cells != total {
                return Err(DeriveError::Sum {
                    table: T::ABOUT.name,
                    column: figure.name,
                    cells: *cells,
                    total: *total,
                });
            }
        }
        Ok(())
    }
}

/// Any count table, whatever it counts.
pub trait AnyTable: Sync {
    /// As declared.
    fn about(&self) -> &'static TableAbout;

    /// The cells with their codes exchanged for `place(column, code)`, in the order of these places.
    fn columns(&self, place: &dyn Fn(usize, u32) -> u32) -> Columns;
}

impl<T: Counted> AnyTable for CountTable<T> {
    fn about(&self) -> &'static TableAbout {
        const { &T::ABOUT }
    }

    fn columns(&self, place: &dyn Fn(usize, u32) -> u32) -> Columns {
        let mut columns = Columns::with_room::<T>(self.packed.len());
        self.each(|cell| columns.push::<T>(cell, place));
        columns.in_order()
    }
}

/// A part of the counts that the passes hand on: a count table, several of them, or what is merged
/// along with them.
pub trait Part: Sized {
    /// Without counts; `listed` is how many candidates a cell of the worklist keeps.
    fn empty(listed: usize) -> Self;

    /// Adds the part of another share of the rows.
    fn merge(self, other: Self) -> Self;

    /// Packs what its tables hold open: a share of the rows is counted.
    fn close(&mut self);

    /// Puts its tables in order: all rows are counted.
    fn settle(&mut self);

    /// Checks that cells plus off-table are the total, in every table.
    ///
    /// # Errors
    /// Names the first table that does not add up.
    fn check(&self) -> Result<(), DeriveError>;

    /// Adds its tables to a list.
    fn list<'a>(&'a self, tables: &mut Vec<&'a dyn AnyTable>);

    /// Adds what is declared of its tables to a list.
    fn about(tables: &mut Vec<&'static TableAbout>);
}

impl<T: Counted> Part for CountTable<T> {
    fn empty(_: usize) -> Self {
        CountTable::default()
    }

    fn merge(self, other: Self) -> Self {
        CountTable::merge(self, other)
    }

    fn close(&mut self) {
        CountTable::close(self);
    }

    fn settle(&mut self) {
        CountTable::settle(self);
    }

    fn check(&self) -> Result<(), DeriveError> {
        CountTable::check(self)
    }

    fn list<'a>(&'a self, tables: &mut Vec<&'a dyn AnyTable>) {
        tables.push(self);
    }

    fn about(tables: &mut Vec<&'static TableAbout>) {
        tables.push(const { &T::ABOUT });
    }
}

/// Parts that hold no table: how each is made empty and merged.
macro_rules! beside_tables {
    ($($type:ty { empty($listed:ident): $empty:expr, merge($own:ident, $other:ident): $merge:expr })+) => {$(
        impl $crate::derive::counts::table::Part for $type {
            fn empty($listed: usize) -> Self {
                $empty
            }

            fn merge(self, $other: Self) -> Self {
                let $own = self;
                $merge
            }

            fn close(&mut self) {}

            fn settle(&mut self) {}

            fn check(&self) -> Result<(), $crate::derive::DeriveError> {
                Ok(())
            }

            fn list<'a>(&'a self, _: &mut Vec<&'a dyn $crate::derive::counts::table::AnyTable>) {}

            fn about(_: &mut Vec<&'static $crate::derive::counts::table::TableAbout>) {}
        }
    )+};
}

pub(crate) use beside_tables;

beside_tables! {
    u64 { empty(_listed): 0, merge(own, other): own + other }
    i64 { empty(_listed): 0, merge(own, other): own + other }
}
