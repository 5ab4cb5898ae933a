//! Rows of fault rates as tables and pictures pick them: those of linked faults, and another quantity of the same place.

use crate::measures::Review;
use crate::measures::fault_rates::{By, Certainty, Quantity, Row, Table};
use crate::report::words::label::in_order;
use crate::report::words::number::Amount;

/// Rows of linked faults, in the order of the table.
pub(in crate::report) fn linked_by(
    table: &Table,
    by: By,
    quantity: Quantity,
) -> impl Iterator<Item = &Row> {
    let rows = table.rows_of(by, quantity);
    rows.filter(|row| row.own.level == Certainty::Linked)
}

/// Those of several groupings, one after the other, each in the order of the page.
pub(in crate::report) fn linked<'a>(
    review: &Review,
    table: &'a Table,
    groupings: &[By],
    quantity: Quantity,
) -> Vec<&'a Row> {
    let rows = |by: &By| in_order(review, linked_by(table, *by, quantity));
    groupings.iter().flat_map(rows).collect()
}

/// The row of another quantity of the same place.
pub(in crate::report) fn same_place<'a>(
    table: &'a Table,
    row: &Row,
    quantity: Quantity,
) -> Option<&'a Row> {
    linked_by(table, row.by, quantity).find(|other| other.group == row.group)
}

/// A row's value in its own unit; a dash where there is no row.
pub(in crate::report) fn value(row: Option<&Row>) -> String {
    row.map_or_else(|| "–".to_owned(), |row| Amount::of(row).bare())
}

/// Its interval; empty where there is none.
pub(in crate::report) fn interval(row: Option<&Row>) -> String {
    row.map_or_else(String::new, |row| {
        let amount = Amount::of(row);
        amount.interval_on(&amount.scale(""))
    })
}
