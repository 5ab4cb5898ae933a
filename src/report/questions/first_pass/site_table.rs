//! Sites ranked by the share clean at the first look.

use crate::charts::number::fixed;
use crate::measures::{Flag, Review, Row, Table};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::questions::{Estimates, labelled};
use crate::report::words::number::{number, probability, whole};

/// The lowest first, shares drawn towards the fleet's.
pub(in crate::report) fn ranking(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of("site", "site-ranked").collect();
    let estimates = Estimates {
        caption: "Sites, lowest first, each share drawn towards the mean site's, the more the less is known of it",
        place: "site",
        n: "first looks",
        events: "clean",
        estimate: "clean, drawn in",
        file: "first_pass",
    };
    let extra = [
        ("rank", Set::Number),
        ("expected rank", Set::Number),
        ("chance that it lies below the mean site", Set::Number),
    ];
    estimates.with(review, &labelled(&rows), &extra, |row| {
        let own = |name: &str| number(table.own(row, name));
        let word = |value: Option<f64>, words: fn(f64) -> String| {
            value.map_or_else(|| "–".to_owned(), words)
        };
        vec![
            whole(own("rank")),
            word(own("expected_rank"), |rank| fixed(rank, 1)),
            word(own("probability"), probability),
        ]
    })
}

/// Why no site is ranked, where none is.
pub(in crate::report) fn unranked(table: &Table) -> Option<String> {
    let mut rows = table.rows_of("site", "site-ranked").peekable();
    rows.peek()?;
    rows.all(|row| row.flags.contains(&Flag::NotIdentified)).then(|| {
        "Sites are not ranked: they differ by no more than chance, so the fit gives them one share."
            .to_owned()
    })
}
