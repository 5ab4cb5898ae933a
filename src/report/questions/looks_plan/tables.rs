//! The tables of the plan of looks.

use crate::measures::looks_plan::{Advice, By, NAME, Quantity, Row, Severity, Table};
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::words::label::label;
use crate::report::words::number::{Amount, Scale, probability_or_dash, whole};

/// Cells with an advice.
pub(super) fn advised(table: &Table, advice: Advice) -> impl Iterator<Item = &Row> {
    table.cells().filter(move |row| row.own.advice == Some(advice))
}

fn share(value: Option<f64>) -> String {
    Amount::plain(value, Unit::Share).bare()
}

/// Cells by saving an hour, the largest first. Those without an estimate keep their looks and say no more.
pub(super) fn cells(review: &Review) -> PageTable {
    let mut rows: Vec<&Row> =
        review.looks_plan.cells().filter(|row| row.estimate.is_some()).collect();
    rows.sort_by_key(|row| row.own.rank.unwrap_or(i64::MAX));
    let hours: Vec<Amount> =
        rows.iter().map(|row| Amount::money(row.own.saving_per_hour)).collect();
    let scale = Scale::for_all(&hours, Unit::Money, &review.currency);
    PageTable::over(&rows)
        .words("site, stage, family", label)
        .words("looks", |row| row.own.advice.map_or("", Advice::word).to_owned())
        .numbers("ends a month", |row| whole(row.own.ends))
        .numbers("looked at now", |row| whole(row.own.looks_now))
        .numbers("by the plan", |row| whole(row.own.looks_planned))
        .estimates(review, "saving of a look")
        .numbers(&format!("saving of an hour, {}", scale.unit), |row| {
            Amount::money(row.own.saving_per_hour).value_on(&scale)
        })
        .numbers("gets more, %", |row| share(row.own.more_often))
        .numbers("gets less, %", |row| share(row.own.less_often))
        .flags()
        .set("Where the minutes would go, the largest saving an hour first", NAME)
}

/// Cells in which a sample is enough.
pub(super) fn samples(review: &Review) -> PageTable {
    let rows: Vec<&Row> = advised(&review.looks_plan, Advice::Sample).collect();
    let number = |value: Option<u64>| whole(value.map(|value| value as f64));
    PageTable::over(&rows)
        .words("site, stage, family", label)
        .numbers("look at", |row| number(row.own.sample))
        .numbers("once in months", |row| whole(row.own.sample_months))
        .numbers("back to all from dirty", |row| number(row.own.accept.map(|accept| accept + 1)))
        .numbers("dirty now, %", |row| share(row.own.dirty))
        .numbers("looking at all pays from, %", |row| share(row.own.dirty_pays))
        .numbers("costs more than it saves, p", |row| probability_or_dash(row.own.costs_more))
        .set("Where a sample is enough, if the operator's own rules allow one", NAME)
}

/// Suppliers, where the settings name an acceptable quality.
pub(super) fn suppliers(review: &Review) -> PageTable {
    let rows: Vec<&Row> =
        review.looks_plan.rows_of(By::Supplier, Quantity::DirtyOnReceipt).collect();
    let number = |value: Option<u64>| whole(value.map(|value| value as f64));
    PageTable::over(&rows)
        .words("supplier", label)
        .n("first looks")
        .events("dirty")
        .estimates(review, "dirty")
        .words("next lot", |row| row.own.regime.map_or("", Severity::word).to_owned())
        .numbers("usual lot", |row| number(row.own.lot))
        .numbers("look at", |row| number(row.own.sample))
        .numbers("refuse from dirty", |row| number(row.own.accept.map(|accept| accept + 1)))
        .flags()
        .set("Lots on receipt", NAME)
}
