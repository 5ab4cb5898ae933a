//! How an action and its estimate are named on its page.

use crate::measures::Review;
use crate::measures::actions::{Moves, Quantity, Row};
use crate::report::words::number::{Amount, level};

/// What an action should move, in words.
pub(super) fn aim(moves: Moves) -> &'static str {
    match moves {
        Moves::FirstPass => "first looks that pass",
        Moves::PassedFirstCycle => "first cleaning cycles that pass",
        Moves::Skipped => "matings with an end unseen",
        Moves::LinkedFaults => "linked faults",
    }
}

/// Name of the action of a row and its aim.
pub(super) fn named(row: &Row) -> String {
    let aim = row.own.moves.map_or("", aim);
    format!("{}, {aim}", row.own.action.as_deref().unwrap_or_default())
}

/// The estimate with its interval at its own level: "+5.1 points (95 %: 1.2 to 8.8)".
pub(super) fn amount(review: &Review, row: &Row) -> String {
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
