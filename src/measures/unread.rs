//! Exports that could not be read, in the tables of intake and trust: a review made without them says so.

use super::results::{Group, Unit};
use super::review::Review;
use super::table::{Row, Table, Value};
use crate::store::Unread;

/// Quantity of their rows.
const QUANTITY: &str = "unread";

/// Adds a row an export to the table of intake, and their count to that of trust. Nothing where all
/// were read.
pub fn add_unread(review: &mut Review, unread: &[Unread]) {
    if unread.is_empty() {
        return;
    }
    unread.iter().for_each(|unread| push(&mut review.intake, 1, &values(unread)));
    push(&mut review.trust, unread.len(), &[]);
}

/// Source, file and reason of each export that the review was made without.
pub fn unread_of(review: &Review) -> Vec<[&str; 3]> {
    let table = &review.intake;
    let text = |row, column| match table.own(row, column) {
        Value::Text(text) => text.as_str(),
        _ => "",
    };
    let rows = table.rows.iter().filter(|row| row.quantity == QUANTITY);
    rows.map(|row| ["source", "file", "reason"].map(|column| text(row, column))).collect()
}

fn values(unread: &Unread) -> [(&'static str, Value); 3] {
    let stays =
        if unread.earlier { "; what an earlier intake read of it stays in force" } else { "" };
    [
        ("source", Value::Text(unread.source.clone())),
        ("file", Value::Text(unread.file.clone())),
        ("reason", Value::Text(format!("{}{stays}", unread.reason))),
    ]
}

fn push(table: &mut Table, count: usize, values: &[(&str, Value)]) {
    let by = if values.is_empty() { "fleet" } else { "file" };
    let mut row = Row::figure(by, Group::default(), QUANTITY, Unit::Count, count as f64, "count");
    row.n = count as f64;
    row.events = i64::try_from(count).ok();
    let own = table.fill(values);
    table.rows.push(row.with(own));
}
