//! Q2: how many cleaning cycles it takes.

mod picture;
mod picture_adjusted;
mod picture_stopping;
mod stopping_tables;
mod tables;

use super::{Estimates, NO_RECORDS, firm};
use crate::measures::{Review, Row, Table, Unit};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::page::section::{Section, look_back};
use crate::report::words::flags::explained;
use crate::report::words::label::{label, ordered, says};
use crate::report::words::number::{Amount, number, whole};
use picture::passed as passed_by_cycle;
use picture_adjusted::adjusted as adjusted_by_method;
use picture_stopping::cost_by_limit;
use stopping_tables::{costs, limits, stopping_words, unseen};
use tables::{adjusted, fits, odds};

const NAME: &str = "cycles";
/// How it is counted.
const METHOD: &str = "Visits that began with a look failing for contamination, counted in cycles of a cleaning and the \
    look after it; rejection competes with passing, and a visit that ends otherwise is censored at the cycles it had \
    (Aalen and Johansen 1978; variance by the infinitesimal jackknife, interval on the log-log scale; of 15 visits, some 92 in a hundred hold at the fourth and fifth cycle). \
    Counting visits \
    left failing as given up gives the lower of two values that bracket the truth. By method: that of the first \
    cycle, censored before the first switch; hazards with Wilson's interval. Chances that differ between end faces: \
    beta-geometric fit (Weinberg and Gladen 1986) with profile-likelihood limits, against one chance by likelihood \
    ratio, p halved at the boundary. Odds ratios: logistic regression of every cycle, variance over site-weeks with \
    the addition for few clusters of Morel, Bokossa and Neerchal (2003); adjusted shares are means over the end \
    faces observed, rejection left out (Robins 1986). What comes late: Wilson's interval on site-weeks' effective size. \
    Methods were chosen by people, not by lot: a ratio tells what is associated with a method, no more.";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.cycles;
    let stop = stopping_words(review, table);
    let pictures = [
        passed_by_cycle(review),
        adjusted_by_method(review),
        stop.clone().and_then(|title| cost_by_limit(review, title)),
    ];
    Section {
        id: NAME,
        question: "How many cleaning cycles until they pass?",
        finding: match stop {
            Some(stop) => format!("{} {stop}.", finding(review, table)),
            None => finding(review, table),
        },
        pictures: pictures.into_iter().flatten().collect(),
        tables: vec![
            by_cycle(review, table),
            odds(review, table),
            adjusted(review, table),
            beyond(review, table),
            fits(review, table),
            limits(review, table),
            costs(review, table),
            harm(review, table),
            unseen(review, table),
        ],
        method: format!("{METHOD} {}", stopping_tables::METHOD),
        doubts: doubts(table),
    }
}

/// What the flags mean, and what the regression left out.
fn doubts(table: &Table) -> Vec<String> {
    let mut doubts = explained(&table.rows);
    if !table.rows.is_empty() && table.rows_of("fleet", "stopping-limit").next().is_none() {
        doubts.push(
            "The settings lack a price of a cycle or of a reject, or no end face was cleaned in a cycle: \
             when to stop cleaning is not worked out."
                .to_owned(),
        );
    }
    let out = table.rows_of("fleet", "cycles-left-out").next();
    let count = |row: &Row| row.estimate.map_or(0.0, |left| left.max(0.0));
    match out {
        Some(row) if row.n > 0.0 && count(row) >= row.n => doubts.push(
            "Too few cycles passed and failed to compare methods with all else equal.".to_owned(),
        ),
        Some(row) if count(row) > 0.0 => doubts.push(format!(
            "{} of {} cycles are left out of the odds ratios: their method, stage, family or zone is too rare.",
            whole(row.estimate),
            whole(Some(row.n))
        )),
        _ => {}
    }
    doubts
}

/// Share passed by the third cycle, the median, and what came after the fifth.
fn finding(review: &Review, table: &Table) -> String {
    let at = |cycle: f64| {
        firm(table.rows_of("fleet", "passed-by-cycle").filter(|row| {
            says(table, row, "bracket", "censored")
                && number(table.own(row, "cycle")) == Some(cycle)
        }))
    };
    if table.rows.is_empty() {
        return NO_RECORDS.to_owned();
    }
    let Some(third) = at(3.0) else {
        return format!(
            "Too few end faces were cleaned in {} to say how many cycles it takes.",
            look_back(review)
        );
    };
    let first = at(1.0).map_or_else(String::new, |row| {
        format!("{} passed after one cleaning cycle and ", Amount::of(row).short(&review.currency))
    });
    let late = firm(table.rows_of("fleet", "passes-beyond-five")).map_or_else(String::new, |row| {
        format!("; {} of all passes came after the fifth", Amount::of(row).full(&review.currency))
    });
    format!(
        "Of end faces that failed for contamination, {first}{} by the third{late}.",
        Amount::of(third).full(&review.currency)
    )
}

fn by_cycle(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = table
        .rows_of("fleet", "passed-by-cycle")
        .filter(|row| says(table, row, "bracket", "censored"))
        .collect();
    rows.sort_by_key(|row| cycle(table, row).map(|cycle| cycle as i64));
    let estimates = Estimates {
        caption: "Passed by cycle, all methods",
        place: "cycle",
        n: "end faces",
        events: "passed",
        estimate: "passed",
        file: NAME,
    };
    let extra = [
        ("at risk", Set::Number),
        ("if left failing is given up, %", Set::Number),
        ("rejected, %", Set::Number),
    ];
    let rows: Vec<(String, &Row)> =
        rows.into_iter().map(|row| (whole(cycle(table, row)), row)).collect();
    estimates.with(review, &rows, &extra, |row| {
        let rejected = Amount::own(table, row, "rejected", Unit::Share);
        vec![
            whole(number(table.own(row, "at_risk"))),
            if_given_up(table, row),
            rejected.value_on(&rejected.scale("")),
        ]
    })
}

/// The share passed by the same cycle where visits left failing count as given up.
fn if_given_up(table: &Table, row: &Row) -> String {
    let mut others = table.rows_of("fleet", "passed-by-cycle");
    let other = others.find(|other| {
        says(table, other, "bracket", "competing") && cycle(table, other) == cycle(table, row)
    });
    other.map_or_else(
        || "–".to_owned(),
        |row| {
            let amount = Amount::of(row);
            amount.value_on(&amount.scale(""))
        },
    )
}

fn beyond(review: &Review, table: &Table) -> PageTable {
    let quantities = [
        ("median-cycles", "cycles until half have passed"),
        ("passes-beyond-three", "passes that came after the third cycle"),
        ("passes-beyond-five", "passes that came after the fifth cycle"),
        ("cleanings-beyond-three", "cleanings after the third cycle"),
        ("cleanings-beyond-five", "cleanings after the fifth cycle"),
        ("minutes-beyond-three", "minutes of looks and cleanings after the third cycle"),
        ("minutes-beyond-five", "minutes of looks and cleanings after the fifth cycle"),
    ];
    let mut lines = Vec::new();
    for (quantity, words) in quantities {
        for by in ["fleet", "treatment"] {
            let shown = |row: &&Row| !says(table, row, "bracket", "competing");
            for row in ordered(review, table, by, quantity).into_iter().filter(shown) {
                let amount = Amount::of(row);
                lines.push(vec![
                    words.to_owned(),
                    label(row),
                    whole(Some(row.n)),
                    amount.short(&review.currency),
                    amount.interval_on(&amount.scale(&review.currency)),
                ]);
            }
        }
    }
    let headings = [
        ("what", Set::Words),
        ("group", Set::Words),
        ("n", Set::Number),
        ("estimate", Set::Words),
        ("interval", Set::Words),
    ];
    PageTable::of("How long it goes on", &headings, lines, NAME)
}

/// What cleaning itself leaves behind.
fn harm(review: &Review, table: &Table) -> PageTable {
    let quantities = [
        ("left-contaminated", "cycles that ended still contaminated"),
        ("soiled", "clean end faces cleaned and soiled by it"),
        ("cleaned-unseen", "visits that began with a cleaning, unseen"),
    ];
    let mut rows: Vec<(String, &Row)> = Vec::new();
    for (quantity, words) in quantities {
        for by in ["fleet", "treatment", "stage"] {
            for row in ordered(review, table, by, quantity) {
                rows.push((format!("{words}: {}", label(row)), row));
            }
        }
    }
    let estimates = Estimates {
        caption: "What cleaning leaves behind",
        place: "what",
        n: "of",
        events: "events",
        estimate: "share",
        file: NAME,
    };
    estimates.table(review, &rows)
}

fn cycle(table: &Table, row: &Row) -> Option<f64> {
    number(table.own(row, "cycle"))
}
