//! What records leave open.

use super::part::{MOST_ROWS, Part};
use crate::measures::Review;
use crate::measures::trust::{By, NAME, Quantity, Row, Table};
use crate::records;
use crate::report::page::page_table::PageTable;
use crate::report::words::number::whole;

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    Part { tables: vec![shares(review, table), counts(table)], ..Part::default() }
}

/// Shares of looks that say less than they should, and times known only to the day, the largest first.
fn shares(review: &Review, table: &Table) -> PageTable {
    let by_day = table.rows_of(By::Table, Quantity::DayPrecision);
    let dark = table.rows_of(By::Site, Quantity::Unreadable);
    let rows = by_day.chain(dark).filter(|row| row.events.unwrap_or(0) > 0);
    let mut rows: Vec<&Row> = rows.collect();
    rows.sort_by(|a, b| b.estimate.unwrap_or(0.0).total_cmp(&a.estimate.unwrap_or(0.0)));
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
        (Quantity::UnmappedCodes, "rows refused for a word without a code"),
        (Quantity::MergedTickets, "tickets merged into an earlier one"),
        (Quantity::AmbiguousTickets, "tickets that name the record of several matings"),
        (Quantity::OnlyRegistered, "end faces that only the register names"),
    ];
    let rows: Vec<(&str, &Row)> = counted
        .into_iter()
        .flat_map(|(quantity, words)| {
            table.rows_of(By::Fleet, quantity).map(move |row| (words, row))
        })
        .collect();
    PageTable::over(&rows)
        .words("what", |(words, _)| (*words).to_owned())
        .numbers("count", |(_, row)| whole(row.estimate))
        .set_first(MOST_ROWS, "Counted, and left as it is", NAME)
}
