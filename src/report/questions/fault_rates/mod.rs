//! Q4: how often contamination-linked faults occur, and what they cost.

mod picture;
mod picture_recurring;
mod picture_sites;
mod tables;

use super::{Estimates, NO_RECORDS, apart, firm, labelled, surely_above};
use crate::measures::{Review, Row, Table, Value};
use crate::report::page::over_time::{OverTime, over_time};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::page::section::{Section, counted, look_back};
use crate::report::words::flags::explained;
use crate::report::words::label::{label, ordered, says};
use crate::report::words::number::{Amount, number, probability};
use picture::by_stage_and_family as fault_rates;
use picture_recurring::recurring_faults;
use picture_sites::fault_sites;
use tables::{STANDARDISED, recurrences, restore_times, scatter, sites, trend};

pub(in crate::report) const NAME: &str = "fault_rates";
const PER_MATINGS: &str = "faults-per-1000-matings";
const PER_MONTHS: &str = "faults-per-1000-months";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.fault_rates;
    let places = linked(review, table, "stage+family", PER_MATINGS);
    let fleet = linked(review, table, "fleet", PER_MATINGS).first().copied();
    let by_quarter = OverTime {
        picture: "fault-rates-by-quarter",
        drawn: "Contamination-linked faults per 1,000 connection-months in force",
        counted: "months",
    };
    let pictures = [
        fault_rates(review, place_sentence(review, &places, fleet)),
        fault_sites(review, site_sentence(review, table)),
        over_time(
            review,
            by_quarter,
            table.rows_of("quarter", PER_MONTHS).filter(|row| says(table, row, "level", "linked")),
            "Contamination-linked faults per 1,000 connection-months",
            &trend(review, table),
        ),
        recurring_faults(review),
    ];
    Section {
        id: NAME,
        question: "How often do contamination-linked faults occur, and what do they cost?",
        finding: finding(review, table, fleet),
        pictures: pictures.into_iter().flatten().collect(),
        tables: vec![
            by_matings(review, table, "stage+family", "Per 1,000 matings, by stage and family"),
            sites(review, table),
            by_time(review, table),
            levels(review, table),
            recurrences(review, table),
            restore_times(review, table),
            costs(review, table),
            scatter(table),
        ],
        method: method(review),
        doubts: doubts(table),
    }
}

/// How all of it is counted, with the sources.
fn method(review: &Review) -> String {
    format!(
        "Cumulative hazard of the first linked fault within {} days of a mating, over spans of follow-up (Fay and \
         Feuer 1997); per connection-month in force, Garwood (1936). Linked: the cause says contamination, or no \
         cause is known and cleaning restored service; the two other levels stand beside it. Costs count every \
         fault. Faults of one site and week come together: intervals and tests take counts over their scatter, the \
         squared gaps of site-weeks to what the rates of stage and family make of their time over those of chance \
         (McCullagh and Nelder 1989), widened where site-weeks are few (Korn and Graubard 1998) and never below 1. \
         A row takes its own scatter where it has enough site-weeks and a fault, else the fleet's. Ratio to the \
         rest: exact conditional, mid-P; q: Benjamini and Hochberg (1995). Sites are standardised to the fleet's time \
         in force by stage and family, over those in which the site has a connection-month or more. Faults that \
         come back: mean cumulative function (Nelson 1988; variance, Lawless and Nadeau 1995), matings of {} \
         followed from their first moment on, times the scatter by the horizon. Trend: Laplace's test (Cox and Lewis \
         1966) and the growth of a power law (Crow 1974) over the connection-months gathered by quarter, with the \
         scatter of site-weeks, or of quarters about the trend where that is more. Time to restore: order \
         statistics (Conover 1999), faults that were cleared.",
        review.horizon_days,
        look_back(review)
    )
}

/// What the flags mean, and what a trend may be beside one.
fn doubts(table: &Table) -> Vec<String> {
    let mut doubts = explained(&table.rows);
    if table.rows_of("fleet", "rate-growth").next().is_some() {
        doubts.push(
            "Linked faults come soon after a mating, so the rate per time in force falls as connections grow older, \
             and rises where many are made: a trend over the quarters may be no more than that."
                .to_owned(),
        );
    }
    doubts
}

/// How many sites differ from the fleet.
fn site_sentence(review: &Review, table: &Table) -> String {
    let rows = linked(review, table, "site", STANDARDISED);
    match linked(review, table, "fleet", PER_MONTHS).first().and_then(|row| row.estimate) {
        Some(rate) => apart(review, &rows, rate, "sites", "the fleet's rate"),
        None => "No rate of the fleet to compare sites with".to_owned(),
    }
}

pub(in crate::report) fn linked<'a>(
    review: &Review,
    table: &'a Table,
    by: &'a str,
    quantity: &'a str,
) -> Vec<&'a Row> {
    let rows = ordered(review, table, by, quantity);
    rows.into_iter().filter(|row| says(table, row, "level", "linked")).collect()
}

fn finding(review: &Review, table: &Table, fleet: Option<&Row>) -> String {
    let Some(row) = firm(fleet.into_iter()) else {
        return match fleet {
            Some(row) => format!(
                "Too few faults or matings to give the fleet's rate ({}).",
                counted(row.n, "mating", "matings")
            ),
            None => NO_RECORDS.to_owned(),
        };
    };
    let cost =
        linked(review, table, "fleet", "fault-cost").first().map_or_else(String::new, |row| {
            format!("; linked faults of the period cost {}", Amount::of(row).full(&review.currency))
        });
    format!(
        "{} led to a contamination-linked fault within {} days, of {}{cost}.",
        matings_with_one(review, row),
        review.horizon_days,
        counted(row.n, "mating", "matings")
    )
}

/// "4.2 (3.5 to 5.0) in 1,000 matings".
fn matings_with_one(review: &Review, row: &Row) -> String {
    let amount = Amount::of(row);
    let scale = amount.scale(&review.currency);
    format!("{} ({}) in 1,000 matings", amount.value_on(&scale), amount.interval_on(&scale))
}

fn place_sentence(review: &Review, places: &[&Row], fleet: Option<&Row>) -> String {
    let Some(value) = fleet.and_then(|row| row.estimate) else {
        return "No rate of the fleet to compare places with".to_owned();
    };
    surely_above(places, value).map_or_else(
        || "No stage and family lies above the fleet by more than its interval".to_owned(),
        |row| format!("Clearly highest at {}: {}", label(row), matings_with_one(review, row)),
    )
}

/// Rates per matings, with the ratio to the rest of the fleet.
fn by_matings(review: &Review, table: &Table, by: &'static str, caption: &str) -> PageTable {
    let rows = linked(review, table, by, PER_MATINGS);
    let extra = [("ratio to the rest", Set::Number), ("interval", Set::Number), ("q", Set::Number)];
    rates(caption, "place").with(review, &labelled(&rows), &extra, |row| {
        let ratio = beside(table, row, "ratio-to-rest");
        let q = ratio.and_then(|row| number(table.own(row, "q")));
        let [value, interval] = worded(ratio);
        vec![value, interval, q.map_or_else(String::new, probability)]
    })
}

/// Rates per time in force.
fn by_time(review: &Review, table: &Table) -> PageTable {
    let rows = linked(review, table, "stage+family", PER_MONTHS);
    let estimates = Estimates {
        caption: "Per time in force, by stage and family",
        place: "place",
        n: "connection-months",
        events: "faults",
        estimate: "per 1,000 connection-months",
        file: NAME,
    };
    let extra = [("FIT", Set::Number), ("interval, FIT", Set::Number)];
    estimates
        .with(review, &labelled(&rows), &extra, |row| worded(beside(table, row, "fit")).to_vec())
}

/// The row of another quantity of the same place.
pub(in crate::report) fn beside<'a>(
    table: &'a Table,
    row: &Row,
    quantity: &str,
) -> Option<&'a Row> {
    table.rows.iter().find(|other| {
        other.by == row.by
            && other.quantity == quantity
            && other.group == row.group
            && says(table, other, "level", "linked")
    })
}

/// Value and interval in their own unit.
pub(in crate::report) fn worded(row: Option<&Row>) -> [String; 2] {
    row.map_or_else(
        || ["–".to_owned(), String::new()],
        |row| {
            let amount = Amount::of(row);
            let scale = amount.scale("");
            [amount.value_on(&scale), amount.interval_on(&scale)]
        },
    )
}

fn rates<'a>(caption: &'a str, place: &'a str) -> Estimates<'a> {
    Estimates {
        caption,
        place,
        n: "matings",
        events: "faults",
        estimate: "per 1,000 matings",
        file: NAME,
    }
}

/// The fleet's rate at each level of linking.
fn levels(review: &Review, table: &Table) -> PageTable {
    let called = |row: &Row| match table.own(row, "level") {
        Value::Text(level) => meaning(level),
        _ => meaning("linked"),
    };
    let rows: Vec<(String, &Row)> =
        table.rows_of("fleet", PER_MATINGS).map(|row| (called(row), row)).collect();
    rates("How surely they are linked", "level").table(review, &rows)
}

fn meaning(level: &str) -> String {
    match level {
        "linked" => "linked: the cause says so, or cleaning restored service".to_owned(),
        "confirmed" => "confirmed: the cause says so".to_owned(),
        "suspect" => "suspect: no fault found, but cleaned or reseated".to_owned(),
        other => other.to_owned(),
    }
}

fn costs(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = Vec::new();
    for by in ["fleet", "stage", "family"] {
        rows.extend(linked(review, table, by, "fault-cost"));
    }
    let estimates = Estimates {
        caption: "What linked faults cost in the period",
        place: "group",
        n: "faults",
        events: "",
        estimate: "cost",
        file: NAME,
    };
    estimates.table(review, &labelled(&rows))
}
