//! What every declared count table has: its cells, what is counted in them, and what is said of it.

use std::fmt::Debug;
use std::hash::Hash;

use super::about::TableAbout;
use super::codes::Column;

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
    type Codes: Copy + Default + Ord + Debug + AsRef<[u32]> + AsMut<[u32]>;

    /// Its codes, column by column.
    fn codes(self) -> Self::Codes;

    /// The cell of these codes; none where a closed list has no word for a code.
    fn of(codes: Self::Codes) -> Option<Self>;
}

/// What is counted in a cell: named integers.
pub trait Row: Copy + Default + Ord + Debug + Send + Sync + 'static {
    /// An array of as many integers as the table has figures.
    type Values: Copy + Default + Debug + AsRef<[i64]> + AsMut<[i64]>;

    /// Its figures in the order of the declaration.
    fn values(&self) -> Self::Values;

    /// The row of these figures.
    fn of(values: Self::Values) -> Self;

    /// Adds another. Sums saturate: absurd money in one record must not wrap around into a plausible
    /// figure.
    fn add(&mut self, more: &Self);

    /// Whether nothing was counted.
    #[inline]
    fn is_nothing(&self) -> bool {
        self.values().as_ref().iter().fold(0, |any, figure| any | figure) == 0
    }
}

/// The codes of a table's cell as plain numbers, in the order of the declaration.
pub type Codes<T> = <<T as Counted>::Key as Key>::Codes;
/// The figures of a table's row as plain numbers, in the order of the declaration.
pub type Figures<T> = <<T as Counted>::Row as Row>::Values;
