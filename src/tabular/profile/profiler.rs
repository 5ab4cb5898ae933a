//! Rows in, a profile a column out.

use super::column::Column;
use super::column_profile::ColumnProfile;

/// Profiles columns: feed rows, then finish.
#[derive(Debug)]
pub struct Profiler {
    columns: Vec<Column>,
}

impl Profiler {
    /// A profiler of columns with these names.
    pub fn new(names: &[String]) -> Self {
        Self { columns: names.iter().map(|name| Column::new(name)).collect() }
    }

    /// Adds a row. Cells beyond the columns are not looked at; cells that are missing count for
    /// nothing, not even as empty.
    pub fn row(&mut self, cells: &[&str]) {
        for (column, cell) in self.columns.iter_mut().zip(cells) {
            column.add(cell);
        }
    }

    /// What the columns hold, in their order.
    pub fn finish(self) -> Vec<ColumnProfile> {
        self.columns.into_iter().map(Column::finish).collect()
    }
}
