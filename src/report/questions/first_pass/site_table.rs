//! Sites ranked by the share clean at the first look.

use crate::charts::number::fixed;
use crate::measures::first_pass::{By, NAME, Quantity, Row, Table};
use crate::measures::{Flag, Review};
use crate::report::page::page_table::PageTable;
use crate::report::words::label::label;
use crate::report::words::number::{count_or_dash, probability};

/// The lowest first, shares drawn towards the fleet's.
pub(in crate::report) fn ranking(review: &Review, table: &Table) -> PageTable {
    let dash = || "–".to_owned();
    let rows: Vec<&Row> = table.rows_of(By::Site, Quantity::SiteRanked).collect();
    PageTable::over(&rows)
        .words("site", label)
        .n("first looks")
        .events("clean")
        .estimates(review, "clean, drawn in")
        .numbers("rank", |row| count_or_dash(row.own.rank))
        .numbers("expected rank", |row| row.own.expected_rank.map_or_else(dash, |r| fixed(r, 1)))
        .numbers("chance that it lies below the mean site", |row| {
            row.own.probability.map_or_else(dash, probability)
        })
        .flags()
        .set(
            "Sites, lowest first, each share drawn towards the mean site's, the more the less is known of it",
            NAME,
        )
}

/// Why no site is ranked, where none is.
pub(in crate::report) fn unranked(table: &Table) -> Option<String> {
    let mut rows = table.rows_of(By::Site, Quantity::SiteRanked).peekable();
    rows.peek()?;
    rows.all(|row| row.flags.contains(&Flag::NotIdentified)).then(|| {
        "Sites are not ranked: they differ by no more than chance, so the fit gives them one share."
            .to_owned()
    })
}
