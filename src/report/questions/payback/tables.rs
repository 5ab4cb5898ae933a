//! Tables of Q8: what each proposal is worth, what it does, what it depends on, what a budget buys.

use crate::charts::number::{fixed, percent};
use crate::measures::{Review, Row, Table, Unit};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::words::flags::words;
use crate::report::words::number::{Amount, level, major, number, whole};
use crate::report::words::purchase::{NAME, Purchase, ladder, text};

pub(in crate::report) fn tables(
    review: &Review,
    table: &Table,
    all: &[Purchase],
) -> Vec<PageTable> {
    let (worth, back) = (worth(review, all), paid_back(review, all));
    vec![worth, back, effects(review, all), inputs(review, table, all), sets(review, table)]
}

/// Money to the cent.
fn cents(minor: Option<f64>) -> String {
    minor.map_or_else(|| "–".to_owned(), |minor| fixed(major(minor), 2))
}

fn cents_between(row: &Row) -> String {
    match (row.low, row.high) {
        (Some(low), Some(high)) => format!("{} to {}", cents(Some(low)), cents(Some(high))),
        _ => String::new(),
    }
}

fn worth(review: &Review, all: &[Purchase]) -> PageTable {
    let unit = &review.currency;
    let level = level(review.level);
    let headings = [
        ("proposal".to_owned(), Set::Words),
        ("units".to_owned(), Set::Number),
        (format!("price of all, {unit}"), Set::Number),
        (format!("net present value, {unit}"), Set::Number),
        (format!("{level} interval"), Set::Number),
        ("flags".to_owned(), Set::Words),
    ];
    let line = |own: &Purchase| {
        vec![
            own.name.to_owned(),
            whole(own.number("units")),
            cents(own.number("price")),
            cents(own.worth.estimate),
            cents_between(own.worth),
            words(&own.worth.flags),
        ]
    };
    made("What each proposal is worth", &headings, all.iter().map(line).collect())
}

fn paid_back(review: &Review, all: &[Purchase]) -> PageTable {
    let unit = &review.currency;
    let headings = [
        ("proposal".to_owned(), Set::Words),
        ("chance to pay back".to_owned(), Set::Number),
        ("payback month".to_owned(), Set::Number),
        (format!("{} interval", level(review.level)), Set::Number),
        (format!("break-even price of a unit, {unit}"), Set::Number),
        ("flags".to_owned(), Set::Words),
    ];
    let line = |own: &Purchase| {
        let estimate = |quantity| own.row(quantity).and_then(|row| row.estimate);
        let month = own.row("payback-month");
        vec![
            own.name.to_owned(),
            estimate("pays-back").map_or_else(String::new, drawn_share),
            month.map_or_else(String::new, |row| of_month(row.estimate)),
            month.map_or_else(String::new, |row| {
                format!("{} to {}", of_month(row.low), of_month(row.high))
            }),
            cents(estimate("break-even-price")),
            words(&own.worth.flags),
        ]
    };
    made("Whether and when it has paid for itself", &headings, all.iter().map(line).collect())
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
    let level = level(review.level);
    let headings = [
        ("proposal".to_owned(), Set::Words),
        (format!("saving a year, {unit}"), Set::Number),
        (format!("{level} interval"), Set::Number),
        ("faults avoided a year".to_owned(), Set::Number),
        (format!("{level} interval "), Set::Number),
        ("hours of downtime avoided a year".to_owned(), Set::Number),
        (format!("{level} interval  "), Set::Number),
    ];
    let line = |own: &Purchase| {
        let row = |quantity| own.row(quantity);
        let plain = |quantity| {
            row(quantity).map_or([String::new(), String::new()], |row| {
                let amount = Amount::of(row);
                let scale = amount.scale(unit);
                [amount.value_on(&scale), amount.interval_on(&scale)]
            })
        };
        let [faults, faults_between] = plain("faults-avoided-a-year");
        let [hours, hours_between] = plain("downtime-avoided-a-year");
        vec![
            own.name.to_owned(),
            cents(row("saving-a-year").and_then(|row| row.estimate)),
            row("saving-a-year").map_or_else(String::new, cents_between),
            faults,
            faults_between,
            hours,
            hours_between,
        ]
    };
    let valued = all.iter().filter(|own| own.worth.estimate.is_some());
    made("What each does in a year, before its running cost", &headings, valued.map(line).collect())
}

fn inputs(review: &Review, table: &Table, all: &[Purchase]) -> PageTable {
    let unit = &review.currency;
    let headings = [
        ("proposal".to_owned(), Set::Words),
        ("input".to_owned(), Set::Words),
        ("from".to_owned(), Set::Words),
        ("low".to_owned(), Set::Number),
        ("high".to_owned(), Set::Number),
        (format!("worth at low, {unit}"), Set::Number),
        (format!("worth at high, {unit}"), Set::Number),
    ];
    let rows =
        all.iter().flat_map(|own| own.rows("proposal+input", "tornado").map(move |row| (own, row)));
    let line = |(own, row): (&Purchase, &Row)| {
        let of = |column: &str| number(table.own(row, column));
        let end = |column: &str| input(table, row, of(column));
        vec![
            own.name.to_owned(),
            text(table, row, "input").to_owned(),
            text(table, row, "source").to_owned(),
            end("input_low"),
            end("input_high"),
            cents(of("worth_at_low")),
            cents(of("worth_at_high")),
        ]
    };
    made("What each depends on, one input at a time", &headings, rows.map(line).collect())
}

/// An end of an input in its own unit.
pub(in crate::report) fn input(table: &Table, row: &Row, end: Option<f64>) -> String {
    let Some(end) = end else { return String::new() };
    match text(table, row, "input_unit") {
        "minor units" => cents(Some(end)),
        "share" => percent(end, 1),
        _ => {
            let unit = Unit::Ratio;
            let amount = Amount { value: Some(end), low: None, high: None, unit };
            amount.value_on(&amount.scale(""))
        }
    }
}

fn sets(review: &Review, table: &Table) -> PageTable {
    let unit = &review.currency;
    let headings = [
        ("rung".to_owned(), Set::Number),
        ("set".to_owned(), Set::Words),
        (format!("price, {unit}"), Set::Number),
        (format!("net present value, {unit}"), Set::Number),
        (format!("{} interval", level(review.level)), Set::Number),
        ("chance to pay".to_owned(), Set::Number),
        (format!("what each thousand more buys, {unit}"), Set::Number),
        ("within the budget".to_owned(), Set::Words),
    ];
    let line = |row: &Row| {
        let of = |column: &str| number(table.own(row, column));
        let chosen = text(table, row, "chosen") == "yes";
        vec![
            whole(of("rung")),
            text(table, row, "set").to_owned(),
            cents(of("price")),
            cents(row.estimate),
            cents_between(row),
            of("probability").map_or_else(String::new, drawn_share),
            cents(of("next_thousand")),
            if chosen { "chosen".to_owned() } else { String::new() },
        ]
    };
    made("The best set for every sum", &headings, ladder(review).into_iter().map(line).collect())
}

fn made(caption: &str, headings: &[(String, Set)], lines: Vec<Vec<String>>) -> PageTable {
    let headings: Vec<(&str, Set)> =
        headings.iter().map(|(text, set)| (text.as_str(), *set)).collect();
    PageTable::of(caption, &headings, lines, NAME)
}
