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

/// The first place, and whether its whole interval lies beyond those of all others: only then is it the largest.
pub(in crate::report) fn leading(review: &Review, by: By) -> Option<(&Row, bool)> {
    let rows = ranked(review, by);
    let (first, others) = rows.split_first()?;
    let low = first.low.unwrap_or(f64::NEG_INFINITY);
    let surely = others.iter().all(|other| other.high.is_some_and(|high| high < low));
    Some((first, surely))
}

/// Rows of the net saving in the order of a picture: ranked ones first, then the flagged, the larger first.
pub(in crate::report) fn ranked_then_flagged(review: &Review, by: By) -> Vec<&Row> {
    let first = ranked(review, by);
    let mut rest: Vec<&Row> = review
        .skipped_cost
        .rows_of(by, Quantity::NetSaving)
        .filter(|row| !first.iter().any(|ranked| std::ptr::eq(*ranked, *row)))
        // Where nothing was skipped there is nothing to save.
        .filter(|row| row.own.matings_skipped != Some(0))
        .collect();
    rest.sort_by(|a, b| b.n.total_cmp(&a.n).then_with(|| a.group.cmp(&b.group)));
    first.into_iter().chain(rest).collect()
}
