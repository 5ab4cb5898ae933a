//! Faults without a price.

use super::part::{Doubt, MOST_ROWS, Part};
use crate::derive::PricePart;
use crate::measures::trust::{By, MoneyOf, NAME, Quantity, Row, Table};
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::words::number::{Amount, whole};

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    let doubts = unpriced(review, table).into_iter().chain(outside(table)).collect();
    Part { tables: vec![shares(review, table), put_in(review, table)], doubts }
}

/// Tickets that state no price, of the fleet and by source.
fn shares(review: &Review, table: &Table) -> PageTable {
    let silent = table.quantity(Quantity::Unpriced);
    let rows: Vec<&Row> = silent.chain(table.quantity(Quantity::PartMissing)).collect();
    PageTable::over(&rows)
        .words("source", |row| row.own.source.clone().unwrap_or_else(|| "all".to_owned()))
        .words("lacks", |row| row.own.part.map_or("any price", PricePart::word).to_owned())
        .n("tickets")
        .events("such")
        .estimates(review, "share")
        .flags()
        .set_first(
            MOST_ROWS,
            "Tickets of linked faults without a price, or without a part of one",
            NAME,
        )
}

/// What of each figure of money rests on the price of other faults.
fn put_in(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.quantity(Quantity::MoneyPutIn).collect();
    PageTable::over(&rows)
        .words("figure", |row| row.own.money.map_or("–", money_words).to_owned())
        .numbers("rests on the price of others", |row| said(review, row.estimate, Unit::Money))
        .numbers("share of it", |row| said(review, row.own.share_put_in, Unit::Share))
        .set_first(MOST_ROWS, "Money that rests on means in the place of prices not stated", NAME)
}

fn money_words(money: MoneyOf) -> &'static str {
    match money {
        MoneyOf::FaultCost => "cost of the period's linked faults",
        MoneyOf::SkippedCost => "cost of linked faults after skipped looks",
        MoneyOf::Associated => {
            "of that, associated with skipping: in the net saving and, a year, in purchases"
        }
    }
}

/// How much of the money rests on other faults' prices.
fn unpriced(review: &Review, table: &Table) -> Option<Doubt> {
    let row = table.rows_of(By::Fleet, Quantity::Unpriced).next()?;
    let share = row.estimate.filter(|share| *share > 0.0)?;
    let mut put_in = table.quantity(Quantity::MoneyPutIn);
    let of = put_in.find(|row| row.own.money == Some(MoneyOf::Associated));
    let effect = match of.and_then(|row| row.estimate).filter(|value| *value != 0.0) {
        Some(value) => format!(
            "had they cost nothing the net saving would be {} lower, had they cost twice as much so much higher",
            spoken(review, value, Unit::Money)
        ),
        None => "what they cost is taken from the others where these state any price".to_owned(),
    };
    let sentence = format!(
        "{} of {} tickets of linked faults ({}) state no price; {effect}.",
        whole(row.events.map(|events| events as f64)),
        whole(Some(row.n)),
        spoken(review, share, Unit::Share),
    );
    Some(Doubt { weight: share, sentence })
}

/// Parts of a price that no source states.
fn outside(table: &Table) -> Vec<Doubt> {
    let row = |row: &Row| {
        let part = row.own.part?.word();
        let sentence = format!(
            "No source states the {part} of a fault: it is outside every figure of money, which is that much too low."
        );
        Some(Doubt { weight: 0.5, sentence })
    };
    table.quantity(Quantity::PartOutside).filter_map(row).collect()
}

fn spoken(review: &Review, value: f64, unit: Unit) -> String {
    Amount::plain(Some(value), unit).short(&review.currency)
}

fn said(review: &Review, value: Option<f64>, unit: Unit) -> String {
    value.map_or_else(|| "–".to_owned(), |value| spoken(review, value, unit))
}
