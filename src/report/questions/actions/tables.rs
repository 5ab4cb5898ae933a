//! The tables of actions.

use crate::measures::Review;
use crate::measures::actions::{NAME, Quantity, Reading, Row};
use crate::report::page::page_table::PageTable;
use crate::report::words::action::{aim, named};
use crate::report::words::number::{Amount, level, probability_or_dash, whole};

fn reading(row: &Row) -> &'static str {
    match row.own.reading {
        Some(Reading::Whole) => "all months",
        Some(Reading::WithoutQuarter) => "without the quarter before",
        Some(Reading::Placebo) => "as if half a year earlier",
        Some(Reading::Resampled) => "sites resampled",
        Some(Reading::Month) => "one month",
        Some(Reading::Series) => "the fleet's own months",
        None => "none",
    }
}

/// Every action and aim with its readings.
pub(super) fn leading(review: &Review) -> PageTable {
    let of_action = |row: &&Row| row.own.month.is_none() && row.quantity != Quantity::Worth;
    let rows: Vec<&Row> = review.actions.rows.iter().filter(of_action).collect();
    PageTable::over(&rows)
        .words("action", |row| row.own.action.clone().unwrap_or_default())
        .words("should move", |row| row.own.moves.map_or("", aim).to_owned())
        .words("compared", |row| reading(row).to_owned())
        .n("n since")
        .estimates(review, "change")
        .numbers("level", |row| row.own.interval_level.map_or_else(|| "–".to_owned(), level))
        .numbers("p", |row| probability_or_dash(row.own.p))
        .numbers("smallest p", |row| probability_or_dash(row.own.smallest_p))
        .numbers("sites", |row| whole(row.own.sites.map(|sites| sites as f64)))
        .numbers("others", |row| whole(row.own.other_sites.map(|sites| sites as f64)))
        .flags()
        .set("What was done, and what went with it", NAME)
}

/// What speaks against each.
pub(super) fn doubts(review: &Review) -> PageTable {
    let rows: Vec<&Row> = review.actions.leading_rows().collect();
    let quarter = |row: &&Row| {
        let value = row.own.quarter_before;
        Amount::plain(value, row.unit()).bare()
    };
    PageTable::over(&rows)
        .words("action", |row| named(row))
        .numbers("p of the quarters before", |row| probability_or_dash(row.own.parallel_p))
        .numbers("quarter before", quarter)
        .numbers("p of one as bad", |row| probability_or_dash(row.own.chosen_p))
        .words("other actions there", |row| row.own.also.clone().unwrap_or_else(|| "–".to_owned()))
        .flags()
        .set("What speaks against it", NAME)
}

/// Worth, cost and promise.
pub(super) fn worth(review: &Review) -> PageTable {
    let rows: Vec<&Row> = review.actions.quantity(Quantity::Worth).collect();
    PageTable::over(&rows)
        .words("action", |row| named(row))
        .words("compared", |row| reading(row).to_owned())
        .estimates(review, "worth so far")
        .numbers("cost", |row| Amount::money(row.own.cost).short(&review.currency))
        .words("proposal", |row| row.own.proposal.clone().unwrap_or_else(|| "–".to_owned()))
        .numbers("promised for these months", |row| {
            Amount::money(row.own.promised).short(&review.currency)
        })
        .numbers("months", |row| whole(row.own.months.map(|months| months as f64)))
        .flags()
        .set("Worth so far, at prices taken as known", NAME)
}
