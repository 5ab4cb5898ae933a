//! The places of skipped inspections in their rank order.

use crate::measures::Review;
use crate::measures::skipped_cost::{By, Quantity, Row};

/// Firm rows of the net saving with a rank, best first.
pub(in crate::report) fn ranked(review: &Review, by: By) -> Vec<&Row> {
    let rows = review.skipped_cost.rows_of(by, Quantity::NetSaving);
    let mut ranked: Vec<(i64, &Row)> =
        rows.filter(|row| row.is_firm()).filter_map(|row| Some((row.own.rank?, row))).collect();
    ranked.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.group.cmp(&b.1.group)));
    ranked.into_iter().map(|(_, row)| row).collect()
}

/// Rows of the net saving in the order of a picture: ranked ones first, then the flagged, the larger first.
pub(in crate::report) fn ranked_then_flagged(review: &Review, by: By) -> Vec<&Row> {
    let first = ranked(review, by);
    let mut rest: Vec<&Row> = review
        .skipped_cost
        .rows_of(by, Quantity::NetSaving)
        .filter(|row| !first.iter().any(|ranked| std::ptr::eq(*ranked, *row)))
        .collect();
    rest.sort_by(|a, b| b.n.total_cmp(&a.n).then_with(|| a.group.cmp(&b.group)));
    first.into_iter().chain(rest).collect()
}
