//! The places of skipped inspections in their rank order, and what the first page says to do first.

use super::label::label;
use super::number::{Amount, number, whole};
use super::section::look_back;
use crate::measures::{Review, Row};

/// Lines of "Do first".
const MOST_LINES: usize = 3;

/// Firm rows of the net saving with a rank, best first.
pub(super) fn ranked<'a>(review: &'a Review, by: &'a str) -> Vec<&'a Row> {
    let table = review.table("skipped_cost");
    let rank = |row: &Row| number(table.own(row, "rank"));
    let mut rows: Vec<&Row> = table
        .rows_of(by, "net-saving")
        .filter(|row| row.is_firm() && rank(row).is_some())
        .collect();
    rows.sort_by(|a, b| {
        let places = (rank(a).unwrap_or(0.0), rank(b).unwrap_or(0.0));
        places.0.total_cmp(&places.1).then_with(|| a.group.cmp(&b.group))
    });
    rows
}

/// Rows of the net saving in the order of a picture: ranked ones first, then the flagged, the larger first.
pub(super) fn ranked_then_flagged<'a>(review: &'a Review, by: &'a str) -> Vec<&'a Row> {
    let table = review.table("skipped_cost");
    let first = ranked(review, by);
    let mut rest: Vec<&Row> = table
        .rows_of(by, "net-saving")
        .filter(|row| !first.iter().any(|ranked| std::ptr::eq(*ranked, *row)))
        .collect();
    rest.sort_by(|a, b| b.n.total_cmp(&a.n).then_with(|| a.group.cmp(&b.group)));
    first.into_iter().chain(rest).collect()
}

/// A line of "Do first".
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Advice {
    /// Where.
    pub place: String,
    /// What that is associated with, and how sure it is.
    pub words: String,
}

/// At most three lines: where to look at both ends first.
pub(super) fn do_first(review: &Review) -> Vec<Advice> {
    let places = ["site+stage", "stage+family"]
        .into_iter()
        .map(|by| ranked(review, by))
        .find(|rows| rows.iter().any(|row| pays(row)))
        .unwrap_or_default();
    let paying = places.into_iter().filter(|row| pays(row)).take(MOST_LINES);
    paying.map(|row| advice(review, row)).collect()
}

fn pays(row: &Row) -> bool {
    row.estimate.is_some_and(|saving| saving > 0.0)
}

fn advice(review: &Review, row: &Row) -> Advice {
    let table = review.table("skipped_cost");
    let sure = if row.low.is_some_and(|low| low > 0.0) {
        "the whole interval is above zero"
    } else {
        "the interval reaches below zero, so it may save nothing"
    };
    Advice {
        place: label(row),
        words: format!(
            "look at both ends before every mating. Associated net saving {} over {}, {} matings made without; {sure}.",
            Amount::of(row).full(&review.currency),
            look_back(review),
            whole(number(table.own(row, "matings_skipped")))
        ),
    }
}
