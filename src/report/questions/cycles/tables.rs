//! The tables of Q2 that come from models: odds ratios, adjusted shares, fitted chances.

use crate::measures::{Review, Row, Table, Value};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::questions::{Estimates, NO_RECORDS};
use crate::report::words::label::{label, ordered};
use crate::report::words::number::{Amount, number, probability, whole};

const NAME: &str = "cycles";
/// Cycles that adjusted shares are shown for.
const SHOWN: [f64; 3] = [1.0, 3.0, 5.0];

/// Odds of passing a cycle against the most frequent level of each factor.
pub(in crate::report) fn odds(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<(String, &Row)> = Vec::new();
    for by in ["treatment", "cycle", "stage", "family", "zone"] {
        rows.extend(table.rows_of(by, "odds-ratio").map(|row| (named(table, row), row)));
    }
    let estimates = Estimates {
        caption: "Odds of passing a cycle, all else in the regression equal",
        place: "level",
        n: "cycles",
        events: "passed",
        estimate: "odds ratio",
        file: NAME,
    };
    estimates.with(review, &rows, &[("against", Set::Words)], |row| {
        vec![text(table, row, "against").to_owned()]
    })
}

/// "method: wet-dry".
fn named(table: &Table, row: &Row) -> String {
    match row.by {
        "treatment" => format!("method: {}", label(row)),
        "cycle" => {
            let cycle = number(table.own(row, "cycle"));
            let last = table.rows_of("cycle", "odds-ratio").last().is_some_and(|last| last == row);
            format!("cycle: {}{}", whole(cycle), if last { " or later" } else { "" })
        }
        "zone" => format!("zone: {}", text(table, row, "zone")),
        by => format!("{by}: {}", label(row)),
    }
}

fn text<'a>(table: &'a Table, row: &'a Row, column: &str) -> &'a str {
    match table.own(row, column) {
        Value::Text(text) => text,
        _ => "–",
    }
}

/// What each method would have passed on the same end faces.
pub(in crate::report) fn adjusted(review: &Review, table: &Table) -> PageTable {
    let rows = ordered(review, table, "treatment", "adjusted-passed-by-cycle");
    let at = |cycle: f64| move |row: &&&Row| number(table.own(row, "cycle")) == Some(cycle);
    let lines = rows.iter().filter(at(1.0)).map(|first| {
        let mut line = vec![label(first), whole(number(table.own(first, "at_risk")))];
        line.extend(SHOWN.map(|cycle| {
            let same = rows.iter().filter(|row| row.group == first.group).find(at(cycle));
            same.map_or_else(|| "–".to_owned(), |row| Amount::of(row).full(&review.currency))
        }));
        line
    });
    let headings = [
        ("method", Set::Words),
        ("cycles made with it", Set::Number),
        ("passed by the first cycle", Set::Words),
        ("by the third", Set::Words),
        ("by the fifth", Set::Words),
    ];
    PageTable::of(
        "Passed by method, stage, family, zone and cycle alike",
        &headings,
        lines.collect(),
        NAME,
    )
}

/// One chance for all against chances that differ.
pub(in crate::report) fn fits(review: &Review, table: &Table) -> PageTable {
    let mut lines = Vec::new();
    for by in ["fleet", "treatment"] {
        for common in ordered(review, table, by, "common-chance") {
            let full = |quantity: &str| {
                let mut rows = table.rows_of(by, quantity);
                rows.find(|row| row.group == common.group).map_or_else(
                    || NO_RECORDS.to_owned(),
                    |row| Amount::of(row).full(&review.currency),
                )
            };
            let mut tests = table.rows_of(by, "chances-differ");
            let test = tests.find(|row| row.group == common.group);
            let p = test.and_then(|row| number(table.own(row, "p")));
            let name = if by == "fleet" { "all methods".to_owned() } else { label(common) };
            lines.push(vec![
                name,
                whole(Some(common.n)),
                Amount::of(common).full(&review.currency),
                full("mean-chance"),
                full("chance-a"),
                full("chance-b"),
                p.map_or_else(|| "–".to_owned(), probability),
            ]);
        }
    }
    let headings = [
        ("method of the first cycle", Set::Words),
        ("cycles", Set::Number),
        ("one chance for all", Set::Words),
        ("chances differ: at the first cycle", Set::Words),
        ("a", Set::Words),
        ("b", Set::Words),
        ("p of one chance", Set::Number),
    ];
    PageTable::of("Chance of passing a cycle, fitted", &headings, lines, NAME)
}
