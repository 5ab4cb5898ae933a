//! Tables of Q8: what each proposal is worth, what it does, what it depends on, what a budget buys.

use crate::charts::number::{fixed, percent};
use crate::measures::payback::{By, InputUnit, NAME, Quantity, Row};
use crate::measures::results::Money;
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::words::flags::words;
use crate::report::words::number::{Amount, count_or_dash, level, major};
use crate::report::words::purchase::{Purchase, ladder, set_of, source_of};

pub(in crate::report) fn tables(review: &Review, all: &[Purchase]) -> Vec<PageTable> {
    let (worth, back) = (worth(review, all), paid_back(review, all));
    vec![worth, back, effects(review, all), inputs(review, all), sets(review)]
}

/// An estimate of money to the cent.
fn cents(minor: Option<f64>) -> String {
    minor.map_or_else(|| "–".to_owned(), |minor| fixed(major(minor), 2))
}

/// Money to the cent.
fn money(money: Option<Money>) -> String {
    cents(money.map(|Money(minor)| minor as f64))
}

fn cents_between(row: &Row) -> String {
    match (row.low, row.high) {
        (Some(low), Some(high)) => format!("{} to {}", cents(Some(low)), cents(Some(high))),
        _ => String::new(),
    }
}

/// The same of a row that there may be.
fn between(row: Option<&Row>) -> String {
    row.map_or_else(String::new, cents_between)
}

fn interval(review: &Review) -> String {
    format!("{} interval", level(review.level))
}

fn worth(review: &Review, all: &[Purchase]) -> PageTable {
    let unit = &review.currency;
    PageTable::over(all)
        .words("proposal", |one| one.name.to_owned())
        .numbers("units", Purchase::units)
        .numbers(&format!("price of all, {unit}"), |one| money(one.worth.own.price))
        .numbers(&format!("net present value, {unit}"), |one| cents(one.worth.estimate))
        .numbers(&interval(review), |one| cents_between(one.worth))
        .words("flags", |one| words(&one.worth.flags))
        .set("What each proposal is worth", NAME)
}

fn paid_back(review: &Review, all: &[Purchase]) -> PageTable {
    let unit = &review.currency;
    let estimate = |one: &Purchase, quantity| one.row(quantity).and_then(|row| row.estimate);
    PageTable::over(all)
        .words("proposal", |one| one.name.to_owned())
        .numbers("chance to pay back", |one| {
            estimate(one, Quantity::PaysBack).map_or_else(String::new, drawn_share)
        })
        .numbers("payback month", |one| {
            one.row(Quantity::PaybackMonth).map_or_else(String::new, |row| of_month(row.estimate))
        })
        .numbers(&interval(review), |one| {
            one.row(Quantity::PaybackMonth).map_or_else(String::new, |row| {
                format!("{} to {}", of_month(row.low), of_month(row.high))
            })
        })
        .numbers("internal rate a year", |one| {
            estimate(one, Quantity::InternalRate)
                .map_or_else(|| "–".to_owned(), |rate| percent(rate, 0))
        })
        .numbers(&format!("break-even price of a unit, {unit}"), |one| {
            cents(estimate(one, Quantity::BreakEvenPrice))
        })
        .words("flags", |one| words(&one.worth.flags))
        .set("Whether and when it has paid for itself", NAME)
}

/// A share of the draws: that all of them agree does not make it certain.
fn drawn_share(share: f64) -> String {
    if share > 0.999 {
        format!(">{}", percent(0.999, 1))
    } else if share < 0.001 {
        format!("<{}", percent(0.001, 1))
    } else {
        percent(share, 1)
    }
}

fn of_month(month: Option<f64>) -> String {
    month.map_or_else(|| "never".to_owned(), |month| fixed(month, 1))
}

fn effects(review: &Review, all: &[Purchase]) -> PageTable {
    let unit = &review.currency;
    let interval = interval(review);
    let on_its_scale = |one: &Purchase, quantity, text: fn(&Amount, &str) -> String| {
        one.row(quantity).map_or_else(String::new, |row| text(&Amount::of(row), unit))
    };
    let value = |amount: &Amount, unit: &str| amount.value_on(&amount.scale(unit));
    let ends = |amount: &Amount, unit: &str| amount.interval_on(&amount.scale(unit));
    let valued: Vec<&Purchase> = all.iter().filter(|one| one.worth.estimate.is_some()).collect();
    PageTable::over(&valued)
        .words("proposal", |one| one.name.to_owned())
        .numbers(&format!("saving a year, {unit}"), |one| {
            cents(one.row(Quantity::Saving).and_then(|row| row.estimate))
        })
        .numbers(&interval, |one| between(one.row(Quantity::Saving)))
        .numbers("faults avoided a year", |one| on_its_scale(one, Quantity::FaultsAvoided, value))
        // Headings of one table differ, if only by a blank.
        .numbers(&format!("{interval} "), |one| on_its_scale(one, Quantity::FaultsAvoided, ends))
        .numbers("hours of downtime avoided a year", |one| {
            on_its_scale(one, Quantity::DowntimeAvoided, value)
        })
        .numbers(&format!("{interval}  "), |one| on_its_scale(one, Quantity::DowntimeAvoided, ends))
        .set("What each does in a year, before its running cost", NAME)
}

fn inputs(review: &Review, all: &[Purchase]) -> PageTable {
    let unit = &review.currency;
    let rows: Vec<(&str, &Row)> = all
        .iter()
        .flat_map(|one| {
            one.rows(By::ProposalInput, Quantity::Tornado).map(move |row| (one.name, row))
        })
        .collect();
    PageTable::over(&rows)
        .words("proposal", |(name, _)| (*name).to_owned())
        .words("input", |(_, row)| row.own.input.clone().unwrap_or_default())
        .words("from", |(_, row)| source_of(row))
        .numbers("low", |(_, row)| input_end(row, row.own.input_low))
        .numbers("high", |(_, row)| input_end(row, row.own.input_high))
        .numbers(&format!("worth at low, {unit}"), |(_, row)| money(row.own.worth_at_low))
        .numbers(&format!("worth at high, {unit}"), |(_, row)| money(row.own.worth_at_high))
        .set("What each depends on, one input at a time", NAME)
}

/// An end of a row's input in its own unit.
pub(in crate::report) fn input_end(row: &Row, end: Option<f64>) -> String {
    let Some(end) = end else { return String::new() };
    match row.own.input_unit {
        Some(InputUnit::Money) => cents(Some(end)),
        Some(InputUnit::Share) => percent(end, 1),
        None => {
            let amount = Amount::plain(Some(end), Unit::Ratio);
            amount.value_on(&amount.scale(""))
        }
    }
}

fn sets(review: &Review) -> PageTable {
    let unit = &review.currency;
    PageTable::over(&ladder(review))
        .numbers("rung", |row| count_or_dash(row.own.rung.map(i64::from)))
        .words("set", |row| set_of(row))
        .numbers(&format!("price, {unit}"), |row| money(row.own.price))
        .numbers(&format!("net present value, {unit}"), |row| cents(row.estimate))
        .numbers(&interval(review), |row| cents_between(row))
        .numbers("chance to pay", |row| row.own.probability.map_or_else(String::new, drawn_share))
        .numbers(&format!("what each thousand more buys, {unit}"), |row| {
            money(row.own.next_thousand)
        })
        .words("within the budget", |row| {
            let chosen = row.own.chosen == Some(true);
            if chosen { "chosen".to_owned() } else { String::new() }
        })
        .set("The best set for every sum", NAME)
}
