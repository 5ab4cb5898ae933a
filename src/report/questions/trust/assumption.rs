//! The rule to which the headline is most sensitive (the rows of sensitivity of skipped cost).

use super::part::{Doubt, Part};
use crate::measures::Review;
use crate::measures::skipped_cost::{By, Quantity, Row, Rule};
use crate::report::questions::firm;
use crate::report::questions::skipped_cost::under;
use crate::report::words::number::Amount;

/// What a move inside the headline's interval weighs against one that leaves it: the interval tells of it already.
const INSIDE: f64 = 0.5;

pub(super) fn part(review: &Review) -> Part {
    Part { doubts: doubt(review).into_iter().collect(), ..Part::default() }
}

/// A headline, and what it would be under another rule.
struct Move<'r> {
    row: &'r Row,
    value: f64,
    /// Share of the headline that it takes away or adds.
    moved: f64,
    is_outside: bool,
}

fn doubt(review: &Review) -> Option<Doubt> {
    let table = &review.skipped_cost;
    let saving = firm(table.rows_of(By::Fleet, Quantity::NetSaving));
    let (headline, words) = match saving {
        Some(row) => (row, "the net saving"),
        None => (
            table.headline().filter(|row| row.is_firm() && row.estimate.is_some())?,
            "the rate ratio of skipped looks",
        ),
    };
    let base = headline.estimate.filter(|base| *base != 0.0)?;
    let value_of = |row: &Row| match saving {
        Some(_) => row.own.net_saving.map(|money| money.0 as f64),
        None => row.estimate,
    };
    let rows = table.rows_of(By::Fleet, Quantity::Sensitivity);
    let others = rows.filter(|row| row.is_firm() && row.own.variant != Some(Rule::AsRuled));
    let moves: Vec<Move> = others
        .filter_map(|row| {
            let value = value_of(row)?;
            // A ratio has its distances on the log scale, and no effect at 1.
            let moved = match saving {
                Some(_) => (value - base).abs() / base.abs(),
                None => (value / base).ln().abs() / base.ln().abs(),
            };
            let is_outside = headline.low.is_some_and(|low| value < low)
                || headline.high.is_some_and(|high| value > high);
            moved.is_finite().then_some(Move { row, value, moved, is_outside })
        })
        .collect();
    let outside = moves.iter().filter(|other| other.is_outside).count();
    let all = moves.len();
    let furthest = moves.into_iter().max_by(|a, b| a.moved.total_cmp(&b.moved))?;
    if furthest.moved == 0.0 {
        return None;
    }
    let amount = Amount::of(headline);
    let said = Amount { value: Some(furthest.value), ..Amount::plain(None, amount.unit) };
    let (value, base) = (said.short(&review.currency), amount.full(&review.currency));
    let rule = under(review, furthest.row);
    let place = if furthest.is_outside {
        format!("outside its interval ({outside} of {all} other rules)")
    } else {
        "inside its interval, the furthest that any other rule moves it".to_owned()
    };
    let sentence =
        format!("Under another rule ({rule}) {words} is {value} instead of {base}: {place}.");
    let weight = furthest.moved.min(1.0) * if furthest.is_outside { 1.0 } else { INSIDE };
    Some(Doubt { weight, sentence })
}
