//! A count table: integers by cell, an off-table figure, and a total that they must add up to.

use std::fmt::Debug;
use std::hash::Hash;

use rustc_hash::FxHashMap;

use super::codes::{Column, Dimension};
use crate::derive::DeriveError;

/// What a counted figure is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Things counted.
    Count,
    /// Products of two counts, summed over clusters.
    CountSquared,
    /// Seconds, whole ones.
    Seconds,
    /// Minutes, whole ones.
    Minutes,
    /// Minor units of the fleet's currency.
    MinorUnits,
}

impl Unit {
    /// Its word in schemas and dictionaries.
    pub fn word(self) -> &'static str {
        match self {
            Unit::Count => "count",
            Unit::CountSquared => "count squared",
            Unit::Seconds => "seconds",
            Unit::Minutes => "minutes",
            Unit::MinorUnits => "minor units",
        }
    }
}

/// A column that a table is grouped by, as declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ColumnAbout {
    /// Its name in schemas and files.
    pub name: &'static str,
    /// What its codes stand for.
    pub dimension: Dimension,
    /// One line.
    pub doc: &'static str,
}

/// A counted figure, as declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FigureAbout {
    /// Its name in schemas and files.
    pub name: &'static str,
    /// What it is measured in.
    pub unit: Unit,
    /// One line.
    pub doc: &'static str,
}

/// A count table, as declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TableAbout {
    /// Its name in schemas and files.
    pub name: &'static str,
    /// What is counted, in a line or two.
    pub doc: &'static str,
    /// What it is grouped by.
    pub columns: &'static [ColumnAbout],
    /// What is counted.
    pub figures: &'static [FigureAbout],
}

/// What a declaration of [`declare_counts`](super::declare_counts) makes: which cells a table has and
/// what is counted in each.
pub trait Counted: 'static {
    /// What is declared of it.
    const ABOUT: TableAbout;
    /// A cell: one value of every column.
    type Key: Key;
    /// What is counted in it.
    type Row: Row;
}

/// A table that is grouped by a column, among others.
pub trait Has<C: Column>: Counted {
    /// Place of the column among those of the table.
    const AT: usize;
}

/// The cell of a count table. Its order is that of its codes, column by column.
pub trait Key: Copy + Ord + Hash + Debug + Send + Sync + 'static {
    /// An array of as many codes as the table has columns.
    type Codes: Copy + Ord + Debug + AsRef<[u32]> + AsMut<[u32]>;

    /// Its codes, column by column.
    fn codes(self) -> Self::Codes;

    /// The cell of these codes; none where a closed list has no word for a code.
    fn of(codes: Self::Codes) -> Option<Self>;
}

/// What is counted in a cell: named integers.
pub trait Row: Copy + Default + Ord + Debug + Send + Sync + 'static {
    /// An array of as many integers as the table has figures.
    type Values: Copy + Debug + AsRef<[i64]> + AsMut<[i64]>;

    /// Its figures in the order of the declaration.
    fn values(&self) -> Self::Values;

    /// The row of these figures.
    fn of(values: Self::Values) -> Self;

    /// Adds another. Sums saturate: absurd money in one record must not wrap around into a plausible
    /// figure.
    fn add(&mut self, more: &Self);
}

/// The codes of a table's cell as plain numbers, in the order of the declaration.
pub type Codes<T> = <<T as Counted>::Key as Key>::Codes;
/// The figures of a table's row as plain numbers, in the order of the declaration.
pub type Figures<T> = <<T as Counted>::Row as Row>::Values;

/// Counts by cell.
///
/// Merging is addition, so any split of the rows gives the same table; integers, so sums do not
/// depend on their order.
#[derive(Debug)]
pub struct CountTable<T: Counted> {
    cells: FxHashMap<T::Key, T::Row>,
    off_table: T::Row,
    total: T::Row,
}

impl<T: Counted> Default for CountTable<T> {
    fn default() -> Self {
        let (off_table, total) = (T::Row::default(), T::Row::default());
        CountTable { cells: FxHashMap::default(), off_table, total }
    }
}

impl<T: Counted> Clone for CountTable<T> {
    fn clone(&self) -> Self {
        CountTable { cells: self.cells.clone(), off_table: self.off_table, total: self.total }
    }
}

impl<T: Counted> PartialEq for CountTable<T> {
    fn eq(&self, other: &Self) -> bool {
        (&self.cells, &self.off_table, &self.total)
            == (&other.cells, &other.off_table, &other.total)
    }
}

impl<T: Counted> Eq for CountTable<T> {}

impl<T: Counted> CountTable<T> {
    /// Adds counts to a cell, or off the table where they belong to none. A cell without counts is
    /// none: that nothing was counted must not make a row.
    pub fn add(&mut self, cell: Option<T::Key>, row: T::Row) {
        if row == T::Row::default() {
            return;
        }
        self.total.add(&row);
        match cell {
            Some(cell) => self.cells.entry(cell).or_default().add(&row),
            None => self.off_table.add(&row),
        }
    }

    /// Adds another share of the same table.
    pub fn merge(mut self, other: Self) -> Self {
        for (cell, row) in other.cells {
            self.cells.entry(cell).or_default().add(&row);
        }
        // Differences of several shares may come to nothing.
        self.cells.retain(|_, row| *row != T::Row::default());
        self.off_table.add(&other.off_table);
        self.total.add(&other.total);
        self
    }

    /// Adds what one table has more than another: what differs between two ways to count the same. Cells alike in both
    /// leave nothing behind.
    pub fn add_difference(&mut self, more: &Self, less: &Self) {
        let negative = |row: T::Row| {
            let mut values = row.values();
            values.as_mut().iter_mut().for_each(|figure| *figure = -*figure);
            T::Row::of(values)
        };
        let mut changes = more.cells.clone();
        for (cell, row) in &less.cells {
            changes.entry(*cell).or_default().add(&negative(*row));
        }
        changes.into_iter().for_each(|(cell, row)| self.add(Some(cell), row));
        let mut off_table = more.off_table;
        off_table.add(&negative(less.off_table));
        self.add(None, off_table);
    }

    /// The cells in order of their codes.
    pub fn cells(&self) -> Vec<(T::Key, T::Row)> {
        let mut cells: Vec<_> = self.cells.iter().map(|(cell, row)| (*cell, *row)).collect();
        cells.sort_unstable();
        cells
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
        self.cells.len()
    }

    /// How many cells the condition holds for.
    pub fn count(&self, holds: impl Fn(&T::Key) -> bool) -> usize {
        self.cells.keys().filter(|cell| holds(cell)).count()
    }

    /// Whether no cell has counts.
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }

    /// Throws the cells away and leaves their sum off the table.
    pub fn clear(&mut self) {
        self.cells = FxHashMap::default();
        self.off_table = self.total;
    }

    /// Cells plus off-table must be the total.
    ///
    /// # Errors
    /// Names the table and the figure that does not add up.
    pub fn check(&self) -> Result<(), DeriveError> {
        let mut sum = self.off_table;
        for row in self.cells.values() {
            sum.add(row);
        }
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

/// Cells column by column, for export.
pub struct Columns {
    /// By grouping column: the codes of all cells.
    pub codes: Vec<Vec<u32>>,
    /// By figure: its counts in all cells.
    pub counts: Vec<Vec<i64>>,
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
        let mut rows = self.coded();
        for (codes, _) in &mut rows {
            for (column, code) in codes.as_mut().iter_mut().enumerate() {
                *code = place(column, *code);
            }
        }
        rows.sort_unstable_by_key(|(codes, _)| *codes);
        let codes = (0..T::ABOUT.columns.len())
            .map(|column| rows.iter().map(|(codes, _)| codes.as_ref()[column]).collect());
        let counts = (0..T::ABOUT.figures.len())
            .map(|figure| rows.iter().map(|(_, counts)| counts.as_ref()[figure]).collect());
        Columns { codes: codes.collect(), counts: counts.collect() }
    }
}

/// A part of the counts that the passes hand on: a count table, several of them, or what is merged
/// along with them.
pub trait Part: Sized {
    /// Without counts; `listed` is how many candidates a cell of the worklist keeps.
    fn empty(listed: usize) -> Self;

    /// Adds the part of another share of the rows.
    fn merge(self, other: Self) -> Self;

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
