//! A table as its columns and its two files. CSV, Parquet and the workbook are written from the same columns, so that
//! they cannot differ.

use super::in_currency::in_currency;
use super::place::Content;
use super::{csv, digits, parquet_table};
use crate::measures::results::{Cells, Column, leading_columns};
use crate::measures::{AnyTable, Review};
use crate::report::error::ReportError;

/// Every column of a table, in order: the leading ones of every table, the table's own. Money is in units of
/// the currency; reals have nine significant digits.
pub(in crate::report) fn columns(table: &dyn AnyTable, review: &Review) -> Vec<Column> {
    let mut columns = leading_columns(&table.leading(), &review.period.quarter.to_string());
    columns.extend(table.own_columns());
    in_currency(&mut columns);
    for column in &mut columns {
        if let Cells::Real(cells) = &mut column.cells {
            cells.iter_mut().for_each(|cell| *cell = cell.and_then(digits::nine));
        }
    }
    columns
}

/// The table as CSV and as Parquet, below `tables/`.
pub(in crate::report) fn files(
    table: &dyn AnyTable,
    columns: &[Column],
    review: &Review,
) -> Result<[Content; 2], ReportError> {
    let name = table.name();
    Ok([
        (format!("tables/{name}.csv"), csv::csv(columns)),
        (format!("tables/{name}.parquet"), parquet_table::parquet(table, columns, review)?),
    ])
}
