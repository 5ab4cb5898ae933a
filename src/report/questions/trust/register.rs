//! What the register of end faces and the code lists do not know.

use super::part::{Doubt, Part};
use crate::charts::number::percent;
use crate::measures::Review;
use crate::measures::trust::{By, Quantity, Row};
use crate::report::words::number::{count_or_dash, whole};

/// Columns named in a sentence.
const MOST_NAMED: usize = 3;

pub(super) fn part(review: &Review) -> Part {
    let doubts = [unregistered(review), unmapped(review)].into_iter().flatten();
    Part { doubts: doubts.collect(), ..Part::default() }
}

/// End faces that the register lacks.
fn unregistered(review: &Review) -> Option<Doubt> {
    let row = review.trust.rows_of(By::Fleet, Quantity::Registered).next()?;
    let missing = 1.0 - row.estimate?;
    // A fleet without a register has none to be incomplete.
    let known = row.events.filter(|events| *events > 0 && missing > 0.0)?;
    let sentence = format!(
        "{} of {} end faces that records name are in the register; of the others ({}) side, optic and supplier are \
         known only where a look says them.",
        count_or_dash(Some(known)),
        whole(Some(row.n)),
        percent(missing, 1)
    );
    Some(Doubt { weight: missing, sentence })
}

/// Rows refused for a word without a code.
fn unmapped(review: &Review) -> Option<Doubt> {
    let all = review.trust.rows_of(By::Fleet, Quantity::UnmappedCodes).next()?;
    if all.n == 0.0 {
        return None;
    }
    let mut columns: Vec<&Row> =
        review.trust.rows_of(By::Column, Quantity::UnmappedCodes).collect();
    columns.sort_by(|a, b| b.n.total_cmp(&a.n));
    let of_column = |row: &&Row| {
        let said = |word: &Option<String>| word.clone().unwrap_or_else(|| "–".to_owned());
        format!(
            "{} column {} ({})",
            said(&row.own.source),
            said(&row.own.column),
            whole(Some(row.n))
        )
    };
    let named: Vec<String> = columns.iter().take(MOST_NAMED).map(of_column).collect();
    let more = match columns.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more columns"),
    };
    let read: f64 = review.trust.rows_of(By::File, Quantity::Rows).map(|row| row.n).sum();
    let sentence = format!(
        "{} rows were rejected, or lost a cell, for a word that the settings have no code for: {}{more}.",
        whole(Some(all.n)),
        named.join(", ")
    );
    Some(Doubt { weight: (all.n / read.max(1.0)).min(1.0), sentence })
}
