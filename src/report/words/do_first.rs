//! "Do first" on the first page: the top of each list of the worklist, with what it saves.

use super::label::text;
use super::number::{Amount, number};
use crate::measures::{Review, Row, Table};

/// A line of "Do first".
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Advice {
    /// Which end face or connection, and where.
    pub place: String,
    /// What to do with it, why, and what that is expected to save.
    pub words: String,
}

/// The lists, in the order of the page.
pub(in crate::report) const LISTS: [&str; 3] = ["left-failing", "carrier", "unseen-mating"];

/// The rows of one list, in their order.
pub(in crate::report) fn rows_of<'a>(
    table: &'a Table,
    list: &'a str,
) -> impl Iterator<Item = &'a Row> {
    let rows = table.rows.iter().filter(|row| row.quantity == "expected-saving");
    rows.filter(move |row| text(table, row, "list") == list)
}

/// The first row of each list that is ranked and expected to save something.
pub(in crate::report) fn do_first(review: &Review) -> Vec<Advice> {
    let table = &review.worklist;
    let first = |list| {
        rows_of(table, list).find(|row| {
            let ranked = number(table.own(row, "rank")).is_some();
            row.is_firm() && ranked && row.estimate.is_some_and(|saving| saving > 0.0)
        })
    };
    let rows = LISTS.into_iter().filter_map(|list| Some((list, first(list)?)));
    rows.map(|(list, row)| advice(review, table, list, row)).collect()
}

fn advice(review: &Review, table: &Table, list: &str, row: &Row) -> Advice {
    let span = match list {
        "carrier" => " a month".to_owned(),
        "unseen-mating" => match number(table.own(row, "remaining_days")) {
            Some(1.0) => " on the day that is left to the horizon".to_owned(),
            Some(days) => format!(" in the {days:.0} days to the horizon"),
            None => String::new(),
        },
        _ => format!(" within {} days of being mated as it is", review.horizon_days),
    };
    let sure = match row.low {
        Some(low) if low > 0.0 => "",
        _ => "; the interval reaches zero, so it may save nothing",
    };
    Advice {
        place: place(table, row),
        words: format!(
            "{}. Reason: {}. Expected saving {}{span}{sure}.",
            text(table, row, "what_to_do"),
            text(table, row, "reason"),
            Amount::of(row).full(&review.currency),
        ),
    }
}

/// "A with B, Tal": the end face, its partner where there is one, the site.
pub(in crate::report) fn place(table: &Table, row: &Row) -> String {
    match row.group.site.as_deref() {
        Some(site) => format!("{}, {site}", face(table, row)),
        None => face(table, row),
    }
}

/// "A with B": the end face, and its partner where there is one.
pub(in crate::report) fn face(table: &Table, row: &Row) -> String {
    match (text(table, row, "end_face"), text(table, row, "partner")) {
        ("", "") => "an end face without a name".to_owned(),
        (face, "") | ("", face) => face.to_owned(),
        (face, partner) => format!("{face} with {partner}"),
    }
}
