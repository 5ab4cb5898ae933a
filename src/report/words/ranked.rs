//! The places of skipped inspections in their rank order.

use super::number::number;
use crate::measures::{Review, Row};

/// Firm rows of the net saving with a rank, best first.
pub(in crate::report) fn ranked<'a>(review: &'a Review, by: &'a str) -> Vec<&'a Row> {
    let table = &review.skipped_cost;
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
pub(in crate::report) fn ranked_then_flagged<'a>(review: &'a Review, by: &'a str) -> Vec<&'a Row> {
    let table = &review.skipped_cost;
    let first = ranked(review, by);
    let mut rest: Vec<&Row> = table
        .rows_of(by, "net-saving")
        .filter(|row| !first.iter().any(|ranked| std::ptr::eq(*ranked, *row)))
        .collect();
    rest.sort_by(|a, b| b.n.total_cmp(&a.n).then_with(|| a.group.cmp(&b.group)));
    first.into_iter().chain(rest).collect()
}
