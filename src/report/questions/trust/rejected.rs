//! Rows that were refused and cells that were left out.

use std::collections::BTreeMap;

use super::part::{Doubt, MOST_ROWS, Part};
use crate::charts::number::percent;
use crate::measures::trust::{By, NAME, Quantity, Row};
use crate::measures::{Review, intake};
use crate::records;
use crate::report::page::page_table::PageTable;
use crate::report::words::label::capitalised;
use crate::report::words::number::whole;
use crate::report::words::unanswered::clause;

/// What a cell left out weighs against a row refused: a detail of a record is gone, not the record.
const CELL: f64 = 0.5;

pub(super) fn part(review: &Review) -> Part {
    let doubts = [missing(review), refused(review), left_out(review)];
    Part { tables: tables(review), doubts: doubts.into_iter().flatten().collect() }
}

fn tables(review: &Review) -> Vec<PageTable> {
    let mut refused: Vec<&Row> = review
        .trust
        .quantity(Quantity::Refused)
        .filter(|row| row.events.is_some_and(|rows| rows > 0))
        .collect();
    refused.sort_by(|a, b| b.estimate.unwrap_or(0.0).total_cmp(&a.estimate.unwrap_or(0.0)));
    let mut cells: Vec<&Row> = review.trust.quantity(Quantity::LostCells).collect();
    cells.sort_by(|a, b| b.estimate.unwrap_or(0.0).total_cmp(&a.estimate.unwrap_or(0.0)));
    vec![
        PageTable::over(&refused)
            .words("of", |row| of(row))
            .n("rows")
            .events("rejected")
            .estimates(review, "share")
            .set_first(MOST_ROWS, "Rows rejected, the largest share first", NAME),
        PageTable::over(&cells)
            .words("source", |row| row.own.source.clone().unwrap_or_default())
            .words("table", |row| row.own.table.map_or("", records::Table::name).to_owned())
            .words("column", |row| row.own.column.clone().unwrap_or_default())
            .words("why", |row| row.own.why.map_or("", records::Misread::word).to_owned())
            .n("rows")
            .events("cells left out")
            .estimates(review, "share")
            .set_first(MOST_ROWS, "Cells that could not be read and were left out", NAME),
    ]
}

fn of(row: &Row) -> String {
    match (&row.own.source, row.own.table) {
        (Some(source), _) => source.clone(),
        (None, Some(table)) => format!("all {}", table.name().replace('_', " ")),
        (None, None) => "everything".to_owned(),
    }
}

/// Tables of which nothing, or too little, is left of what was read.
fn missing(review: &Review) -> Vec<Doubt> {
    let rows = review.trust.quantity(Quantity::Unanswered);
    let lost = rows.filter(|row| row.own.quarantined.is_some_and(|refused| refused > 0));
    let by_table: BTreeMap<_, &Row> = lost.map(|row| (row.own.table, row)).collect();
    by_table
        .into_values()
        .map(|row| {
            let said = capitalised(&clause(row));
            let why = row.own.table.and_then(|table| worst(review, table));
            let why = why.map_or_else(String::new, |why| format!(", most of them for {why}"));
            Doubt { weight: 1.0, sentence: format!("{said}{why}.") }
        })
        .collect()
}

/// Tables and sources over the limit of which enough is left.
fn refused(review: &Review) -> Vec<Doubt> {
    let is_over = |row: &&Row| row.estimate.is_some_and(|share| share > review.quarantine_limit);
    let rows = |by| review.trust.rows_of(by, Quantity::Refused);
    let is_missing = |table: records::Table| {
        review.trust.quantity(Quantity::Unanswered).any(|row| row.own.table == Some(table))
    };
    let over: Vec<(records::Table, &Row)> = rows(By::Table)
        .filter(is_over)
        .filter_map(|row| Some((row.own.table?, row)))
        .filter(|(table, _)| !is_missing(*table))
        .collect();
    let mut doubts: Vec<Doubt> = over
        .iter()
        .map(|(table, row)| {
            let why = worst(review, *table);
            let why = why.map_or_else(String::new, |why| format!(", most of them for {why}"));
            let share = row.estimate.unwrap_or(0.0);
            let what = format!("rows of {}", table.name().replace('_', " "));
            Doubt { weight: share, sentence: format!("{} were rejected{why}.", parts(row, &what)) }
        })
        .collect();
    for row in rows(By::Source).filter(is_over) {
        let source = row.own.source.as_deref().unwrap_or("");
        let Some(table) = table_of(review, source) else { continue };
        if is_missing(table) || over.iter().any(|(of, _)| *of == table) {
            continue;
        }
        let all = rows(By::Table).find(|row| row.own.table == Some(table)).map_or(0.0, |row| row.n);
        let weight = row.events.unwrap_or(0) as f64 / all.max(1.0);
        let what = format!("rows of the source {source}");
        doubts.push(Doubt { weight, sentence: format!("{} were rejected.", parts(row, &what)) });
    }
    doubts
}

/// Columns of which more cells than the limit could not be read.
fn left_out(review: &Review) -> Vec<Doubt> {
    let cells = review.trust.quantity(Quantity::LostCells);
    let over =
        cells.filter(|row| row.estimate.is_some_and(|share| share > review.quarantine_limit));
    over.map(|row| {
        let of_table = |all: &&Row| all.own.table == row.own.table;
        let all = review.trust.rows_of(By::Table, Quantity::Refused).find(of_table);
        let all = all.map_or(0.0, |all| all.n).max(row.n).max(1.0);
        let own = &row.own;
        let what = format!(
            "cells \u{201c}{}\u{201d} of {} in the source {}",
            own.column.as_deref().unwrap_or(""),
            own.table.map_or("records", records::Table::name).replace('_', " "),
            own.source.as_deref().unwrap_or("")
        );
        let sentence = format!("{} could not be read and count as not given.", parts(row, &what));
        Doubt { weight: CELL * row.events.unwrap_or(0) as f64 / all, sentence }
    })
    .collect()
}

/// "25 of 208 rows of faults (12 %)".
fn parts(row: &Row, what: &str) -> String {
    let events = whole(row.events.map(|events| events as f64));
    let share = percent(row.estimate.unwrap_or(0.0), 0);
    format!("{events} of {} {what} ({share})", whole(Some(row.n)))
}

/// Source and column for which most rows of a table were refused.
fn worst(review: &Review, table: records::Table) -> Option<String> {
    let refused = review.intake.quantity(intake::Quantity::Refused);
    let of_table = refused.filter(|row| row.own.table.as_deref() == Some(table.name()));
    let mut sums: BTreeMap<(&str, Option<&str>), f64> = BTreeMap::new();
    for row in of_table {
        *sums.entry((&row.own.source, row.own.column.as_deref())).or_default() += row.n;
    }
    let most = sums.into_iter().max_by(|a, b| a.1.total_cmp(&b.1).then_with(|| b.0.cmp(&a.0)));
    most.map(|((source, column), _)| match column {
        Some(column) => format!("\u{201c}{column}\u{201d} of the source {source}"),
        None => format!("whole rows of the source {source}"),
    })
}

/// The table that most refused rows of a source should have gone into.
fn table_of(review: &Review, source: &str) -> Option<records::Table> {
    let refused = review.intake.quantity(intake::Quantity::Refused);
    let of_source = refused.filter(|row| row.own.source == source);
    let named = of_source
        .filter_map(|row| Some((row.own.table.as_deref().and_then(records::Table::named)?, row.n)));
    let mut sums: BTreeMap<records::Table, f64> = BTreeMap::new();
    named.for_each(|(table, rows)| *sums.entry(table).or_default() += rows);
    sums.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(table, _)| table)
}
