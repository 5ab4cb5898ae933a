//! The tables of Q2 that come from models: odds ratios, adjusted shares, fitted chances.

use crate::measures::Review;
use crate::measures::cycles::{By, NAME, Quantity, Row, Table};
use crate::report::page::page_table::PageTable;
use crate::report::questions::NO_RECORDS;
use crate::report::words::label::{in_order, label};
use crate::report::words::number::{Amount, probability_or_dash, whole};

/// Odds of passing a cycle against the most frequent level of each factor.
pub(in crate::report) fn odds(review: &Review, table: &Table) -> PageTable {
    let groupings = [By::Treatment, By::Cycle, By::Stage, By::Family, By::Zone].into_iter();
    let rows: Vec<&Row> = groupings.flat_map(|by| table.rows_of(by, Quantity::OddsRatio)).collect();
    PageTable::over(&rows)
        .words("level", |row| named(table, row))
        .n("cycles")
        .events("passed")
        .estimates(review, "odds ratio")
        .words("without tools listed as carriers", |row| without_carriers(review, table, row))
        .words("against", |row| row.own.against.clone().unwrap_or_else(|| "–".to_owned()))
        .flags()
        .set("Odds of passing a cycle, all else in the regression equal", NAME)
}

/// The odds ratio of a method without the tools that are listed as carriers; nothing where none is listed.
fn without_carriers(review: &Review, table: &Table, row: &Row) -> String {
    let mut others = table.rows_of(row.by, Quantity::OddsRatioWithoutCarriers);
    let same =
        others.find(|other| other.group == row.group && other.own.against == row.own.against);
    same.map_or_else(String::new, |row| Amount::of(row).full(&review.currency))
}

/// "method: wet-dry".
fn named(table: &Table, row: &Row) -> String {
    match row.by {
        By::Treatment => format!("method: {}", label(row)),
        By::Cycle => {
            let cycles = table.rows_of(By::Cycle, Quantity::OddsRatio);
            let last = cycles.last().is_some_and(|last| last == row);
            let cycle = whole(row.own.cycle.map(f64::from));
            format!("cycle: {cycle}{}", if last { " or later" } else { "" })
        }
        By::Zone => format!("zone: {}", row.own.zone.map_or("–", |zone| zone.word())),
        By::Fleet | By::Stage | By::Family => format!("{}: {}", row.by.word(), label(row)),
    }
}

/// What each method would have passed on the same end faces.
pub(in crate::report) fn adjusted(review: &Review, table: &Table) -> PageTable {
    let quantity = Quantity::AdjustedPassedByCycle;
    let rows = in_order(review, table.rows_of(By::Treatment, quantity));
    let methods: Vec<&Row> = rows.iter().copied().filter(|row| row.own.cycle == Some(1)).collect();
    let by = |cycle: u32| {
        let rows = &rows;
        move |method: &&Row| {
            let mut same = rows.iter().filter(|row| row.group == method.group);
            let row = same.find(|row| row.own.cycle == Some(cycle));
            row.map_or_else(|| "–".to_owned(), |row| Amount::of(row).full(&review.currency))
        }
    };
    PageTable::over(&methods)
        .words("method", label)
        .numbers("cycles made with it", |row| whole(row.own.at_risk.map(|made| made as f64)))
        .words("passed by the first cycle", by(1))
        .words("by the third", by(3))
        .words("by the fifth", by(5))
        .set("Passed by method, stage, family, zone and cycle alike", NAME)
}

/// One chance for all against chances that differ.
pub(in crate::report) fn fits(review: &Review, table: &Table) -> PageTable {
    let groupings = [By::Fleet, By::Treatment].into_iter();
    let rows: Vec<&Row> = groupings
        .flat_map(|by| in_order(review, table.rows_of(by, Quantity::CommonChance)))
        .collect();
    let same = |row: &Row, quantity| {
        table.rows_of(row.by, quantity).find(|other| other.group == row.group)
    };
    let full = |quantity| {
        move |row: &&Row| {
            let amount = |row| Amount::of(row).full(&review.currency);
            same(row, quantity).map_or_else(|| NO_RECORDS.to_owned(), amount)
        }
    };
    PageTable::over(&rows)
        .words("method of the first cycle", |row| match row.by {
            By::Fleet => "all methods".to_owned(),
            _ => label(row),
        })
        .n("cycles")
        .words("one chance for all", |row| Amount::of(row).full(&review.currency))
        .words("chances differ: at the first cycle", full(Quantity::MeanChance))
        .words("a", full(Quantity::ChanceA))
        .words("b", full(Quantity::ChanceB))
        .numbers("p of one chance", |row| {
            let test = same(row, Quantity::ChancesDiffer);
            probability_or_dash(test.and_then(|test| test.own.p))
        })
        .set("Chance of passing a cycle, fitted", NAME)
}
