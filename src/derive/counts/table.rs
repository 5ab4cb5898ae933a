//! A count table: integers by cell, an off-table figure, and a total that they must add up to.

use rustc_hash::FxHashMap;

use crate::derive::DeriveError;

/// What the codes of one grouping column stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    Quarter,
    Month,
    Week,
    Site,
    Stage,
    Family,
    Supplier,
    Method,
    Device,
    Criteria,
    Cause,
    /// A closed list of this program's.
    Words(&'static [&'static str]),
    /// A plain number.
    Number,
}

/// Counts (units, seconds, money in minor units) of `M` kinds by `D` grouping columns.
///
/// Merging is addition, so any split of the rows gives the same table; integers, so sums do not
/// depend on their order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountTable<const D: usize, const M: usize> {
    pub name: &'static str,
    pub dimensions: [(&'static str, Dimension); D],
    pub measures: [&'static str; M],
    cells: FxHashMap<[u32; D], [i64; M]>,
    off_table: [i64; M],
    total: [i64; M],
}

impl<const D: usize, const M: usize> CountTable<D, M> {
    /// A table without counts.
    pub fn empty(
        name: &'static str,
        dimensions: [(&'static str, Dimension); D],
        measures: [&'static str; M],
    ) -> Self {
        Self {
            name,
            dimensions,
            measures,
            cells: FxHashMap::default(),
            off_table: [0; M],
            total: [0; M],
        }
    }

    /// Adds counts to a cell, or off the table where they belong to none. A cell without counts is
    /// none: that nothing was counted must not make a row.
    pub fn add(&mut self, cell: Option<[u32; D]>, counts: [i64; M]) {
        if counts == [0; M] {
            return;
        }
        add(&mut self.total, &counts);
        match cell {
            Some(cell) => add(self.cells.entry(cell).or_insert([0; M]), &counts),
            None => add(&mut self.off_table, &counts),
        }
    }

    /// Adds another table of the same shape.
    pub fn merge(mut self, other: Self) -> Self {
        for (cell, counts) in other.cells {
            add(self.cells.entry(cell).or_insert([0; M]), &counts);
        }
        add(&mut self.off_table, &other.off_table);
        add(&mut self.total, &other.total);
        self
    }

    /// The cells in order of their codes.
    pub fn cells(&self) -> Vec<([u32; D], [i64; M])> {
        let mut cells: Vec<_> = self.cells.iter().map(|(cell, counts)| (*cell, *counts)).collect();
        cells.sort_unstable();
        cells
    }

    /// What fell in none of the cells.
    pub fn off_table(&self) -> [i64; M] {
        self.off_table
    }

    /// Everything that was added.
    pub fn total(&self) -> [i64; M] {
        self.total
    }

    /// How many cells have counts.
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// How many of the cells are such.
    pub fn count(&self, such: impl Fn(&[u32; D]) -> bool) -> usize {
        self.cells.keys().filter(|cell| such(cell)).count()
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
    /// Names the table and the column that does not add up.
    pub fn check(&self) -> Result<(), DeriveError> {
        let mut sum = self.off_table;
        for counts in self.cells.values() {
            add(&mut sum, counts);
        }
        match (0..M).find(|at| sum[*at] != self.total[*at]) {
            None => Ok(()),
            Some(at) => Err(DeriveError::Sum {
                table: self.name,
                column: self.measures[at],
                cells: sum[at],
                total: self.total[at],
            }),
        }
    }
}

/// Sums saturate: absurd money in one record must not wrap around into a plausible figure.
fn add<const M: usize>(sum: &mut [i64; M], more: &[i64; M]) {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum = sum.saturating_add(*more);
    }
}
