//! Exports that could not be read, in the tables of intake and trust: a review made without them says so.

use super::intake;
use super::results::Group;
use super::review::Review;
use super::trust;
use crate::store::Unread;

/// Adds a row an export to the table of intake, and their count to that of trust. Nothing where all
/// were read.
pub fn add_unread(review: &mut Review, unread: &[Unread]) {
    if unread.is_empty() {
        return;
    }
    review.intake.rows.extend(unread.iter().map(row));
    let (count, own) = (i64::try_from(unread.len()).unwrap_or(i64::MAX), trust::Own::default());
    let quantity = trust::Quantity::Unread;
    let all = trust::Row::count(trust::By::Fleet, Group::default(), quantity, count, own);
    review.trust.rows.push(all);
}

fn row(unread: &Unread) -> intake::Row {
    let stays =
        if unread.earlier { "; what an earlier intake read of it stays in force" } else { "" };
    let own = intake::Own {
        reason: Some(format!("{}{stays}", unread.reason)),
        ..intake::Own::of_file(&unread.source, &unread.file)
    };
    intake::Row::count(intake::By::File, Group::default(), intake::Quantity::Unread, 1, own)
}
