//! How an action and its estimate are named.

use super::number::{Amount, level};
use crate::measures::Review;
use crate::measures::actions::{Moves, Quantity, Row};

/// What an action should move, in words.
pub(in crate::report) fn aim(moves: Moves) -> &'static str {
    match moves {
        Moves::FirstPass => "first looks that pass",
        Moves::PassedFirstCycle => "first cleaning cycles that pass",
        Moves::Skipped => "matings with an end unseen",
        Moves::LinkedFaults => "linked faults",
    }
}

/// Name of the action of a row and its aim.
pub(in crate::report) fn named(row: &Row) -> String {
    let aim = row.own.moves.map_or("", aim);
    format!("{}, {aim}", row.own.action.as_deref().unwrap_or_default())
}

/// The estimate with its interval at its own level: "+5.1 points (95 %: 1.2 to 8.8)".
pub(in crate::report) fn amount(review: &Review, row: &Row) -> String {
    let amount = Amount::of(row);
    let scale = amount.scale(&review.currency);
    let unit = if row.quantity == Quantity::Change { " points" } else { " times" };
    let interval = match amount.interval_on(&scale) {
        interval if interval.is_empty() => "no interval".to_owned(),
        interval => {
            format!("{}: {interval}", level(row.own.interval_level.unwrap_or(review.level)))
        }
    };
    format!("{}{unit} ({interval})", amount.value_on(&scale))
}

/// Whether the interval lies on the good side of no change, the bad side, or neither.
pub(in crate::report) fn direction(row: &Row) -> Option<bool> {
    let none = if row.quantity == Quantity::Change { 0.0 } else { 1.0 };
    let more_is_better = row.own.moves.is_some_and(Moves::more_is_better);
    match (row.low, row.high) {
        (Some(low), _) if low > none => Some(more_is_better),
        (_, Some(high)) if high < none => Some(!more_is_better),
        _ => None,
    }
}

/// "associated with +5.1 points (95 %: 1.2 to 8.8)", or that no change can be told.
pub(in crate::report) fn associated(review: &Review, row: &Row) -> String {
    let amount = amount(review, row);
    match direction(row) {
        Some(true) => format!("associated with {amount}"),
        Some(false) => format!("associated with a change for the worse, {amount}"),
        None => format!("no change can be told: {amount}"),
    }
}
