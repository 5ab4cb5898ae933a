//! Questions that have no answer because records are lacking, and what is lacking.

use super::number::whole;
use crate::measures::Review;
use crate::measures::trust::{Quantity, Row};
use crate::records;

/// The tables that a measure lacks, by its name; none where it has what it needs.
pub(in crate::report) fn lacking<'r>(
    review: &'r Review,
    measure: &'r str,
) -> impl Iterator<Item = &'r Row> {
    let rows = review.trust.quantity(Quantity::Unanswered);
    rows.filter(move |row| row.own.measure.as_deref() == Some(measure))
}

/// Why a measure has no answer, as a clause; none where it has what it needs.
pub(in crate::report) fn reason(review: &Review, measure: &str) -> Option<String> {
    let clauses: Vec<String> = lacking(review, measure).map(clause).collect();
    (!clauses.is_empty()).then(|| clauses.join(" and "))
}

/// What a row of a lacking table says: "no faults stand: 69 of the 69 rows were rejected".
pub(in crate::report) fn clause(row: &Row) -> String {
    let table = row.own.table.map_or("records", records::Table::name).replace('_', " ");
    let standing = row.estimate.unwrap_or(0.0);
    let (rows, refused) = (row.own.read.unwrap_or(0), row.own.quarantined.unwrap_or(0));
    let rejected = format!(
        "{} of the {} rows read were rejected",
        whole(Some(refused as f64)),
        whole(Some(rows as f64))
    );
    match (standing == 0.0, refused) {
        (true, 0) => format!("there are no {table}"),
        (true, _) => format!("there are no {table}: {rejected}"),
        (false, _) => format!("most {table} are missing: {rejected}"),
    }
}
