//! Tables by their names and the words that files print, for laws that hold of more than one. A name that does not exist
//! fails the test.

use motetrail::measures::results::{Cells, Column, Leading, leading_columns};
use motetrail::measures::{AnyTable, Review};

/// A row of any table.
pub struct Printed<'r> {
    pub row: Leading<'r>,
    own: Vec<(&'static str, String)>,
}

impl Printed<'_> {
    /// What it says in a column of the table's own; empty where nothing.
    pub fn own(&self, column: &str) -> &str {
        let found = self.own.iter().find(|(name, _)| *name == column);
        &found.unwrap_or_else(|| panic!("no column {column}")).1
    }

    /// All it says in the table's own columns that hold words.
    pub fn words(&self) -> String {
        let words = self.own.iter().filter(|(_, text)| text.parse::<f64>().is_err());
        words.map(|(name, text)| format!("{name}={text} ")).collect()
    }
}

/// The table of that name.
pub fn table<'r>(review: &'r Review, name: &str) -> &'r dyn AnyTable {
    let found = review.tables().into_iter().find(|table| table.name() == name);
    found.unwrap_or_else(|| panic!("no table {name}"))
}

/// Every column of a table.
pub fn columns(table: &dyn AnyTable) -> Vec<Column> {
    let mut columns = leading_columns(&table.leading(), "2026-Q2");
    columns.extend(table.own_columns());
    columns
}

/// Every column of every table.
pub fn all_columns(review: &Review) -> Vec<Vec<Column>> {
    review.tables().into_iter().map(columns).collect()
}

/// Every row of a table.
pub fn all_rows<'r>(table: &'r dyn AnyTable) -> Vec<Printed<'r>> {
    let own = table.own_columns();
    let row = |(place, row): (usize, Leading<'r>)| Printed {
        row,
        own: own.iter().map(|column| (column.spec.name, cell(column, place))).collect(),
    };
    table.leading().into_iter().enumerate().map(row).collect()
}

/// The rows of one quantity under one grouping.
pub fn rows<'r>(review: &'r Review, name: &str, by: &str, quantity: &str) -> Vec<Printed<'r>> {
    let mut rows = all_rows(table(review, name));
    rows.retain(|row| row.row.by == by && row.row.quantity == quantity);
    rows
}

/// The numbers in the table's own columns.
pub fn own_numbers(table: &dyn AnyTable) -> Vec<f64> {
    let real = |column: Column| match column.cells {
        Cells::Real(cells) => cells.into_iter().flatten().collect(),
        Cells::Text(_) | Cells::Integer(_) => Vec::new(),
    };
    table.own_columns().into_iter().flat_map(real).collect()
}

fn cell(column: &Column, row: usize) -> String {
    match &column.cells {
        Cells::Text(cells) => cells[row].clone().unwrap_or_default(),
        Cells::Integer(cells) => cells[row].map(|value| value.to_string()).unwrap_or_default(),
        Cells::Real(cells) => cells[row].map(|value| value.to_string()).unwrap_or_default(),
    }
}
