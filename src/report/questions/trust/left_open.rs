//! What records leave open.

use super::part::{MOST_ROWS, Part};
use crate::measures::Review;
use crate::measures::trust::{By, NAME, Quantity, Row, Table};
use crate::records;
use crate::report::page::page_table::PageTable;
use crate::report::words::label::in_order;
use crate::report::words::number::whole;

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    Part { tables: vec![shares(review, table), counts(table)], ..Part::default() }
}

/// Shares of looks that say less than they should, and times known only to the day.
fn shares(review: &Review, table: &Table) -> PageTable {
    let by_day = in_order(review, table.rows_of(By::Table, Quantity::DayPrecision));
    let dark = in_order(review, table.rows_of(By::Site, Quantity::Unreadable));
    let rows: Vec<&Row> = by_day.into_iter().chain(dark).collect();
    PageTable::over(&rows)
        .words("what", |row| open_point(row))
        .n("of")
        .events("such")
        .estimates(review, "share")
        .flags()
        .set_first(MOST_ROWS, "What the records leave open", NAME)
}

/// What a share leaves open, and of which records.
fn open_point(row: &Row) -> String {
    let (words, place) = match row.quantity {
        Quantity::DayPrecision => {
            ("time known only to the day", row.own.table.map(records::Table::name))
        }
        Quantity::Unreadable => ("unreadable", row.group.site.as_deref()),
        other => (other.word(), None),
    };
    place.map_or_else(|| words.to_owned(), |place| format!("{words}: {place}"))
}

/// Counts of the whole fleet that are no shares.
fn counts(table: &Table) -> PageTable {
    let counted = [
        (Quantity::Conflicts, "attributes against the register"),
        (Quantity::FindingsMissing, "failed without a finding"),
        (Quantity::SilentMonths, "months without a look"),
    ];
    let rows: Vec<(&str, &Row)> = counted
        .into_iter()
        .flat_map(|(quantity, words)| table.quantity(quantity).map(move |row| (words, row)))
        .collect();
    PageTable::over(&rows)
        .words("what", |(words, _)| (*words).to_owned())
        .numbers("count", |(_, row)| whole(row.estimate))
        .set_first(MOST_ROWS, "Counted, and left as it is", NAME)
}
