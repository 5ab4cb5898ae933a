//! Q4: how often contamination-linked faults occur, and what they cost.

use super::{Estimates, NO_RECORDS, firm, labelled, surely_above};
use crate::measures::{Review, Row, Table, Value};
use crate::report::flags::explained;
use crate::report::label::{label, ordered, says};
use crate::report::number::{Amount, number, probability, whole};
use crate::report::page_table::{PageTable, Set};
use crate::report::pictures::{OverTime, fault_rates, over_time};
use crate::report::section::{Section, counted};

const NAME: &str = "fault_rates";
const PER_MATINGS: &str = "faults-per-1000-matings";
const PER_MONTHS: &str = "faults-per-1000-months";

pub(super) fn section(review: &Review) -> Section {
    let table = review.table(NAME);
    let places = linked(review, table, "stage+family", PER_MATINGS);
    let fleet = linked(review, table, "fleet", PER_MATINGS).first().copied();
    let trend = OverTime {
        picture: "fault-rates-by-quarter",
        table: NAME,
        quantity: PER_MONTHS,
        drawn: "Contamination-linked faults per 1,000 connection-months in force",
        counted: "months",
    };
    let pictures = [
        fault_rates(review, place_sentence(review, &places, fleet)),
        over_time(review, trend, "Contamination-linked faults per 1,000 connection-months"),
    ];
    Section {
        id: NAME,
        question: "How often do contamination-linked faults occur, and what do they cost?",
        finding: finding(review, table, fleet),
        pictures: pictures.into_iter().flatten().collect(),
        tables: vec![
            by_matings(review, table, "stage+family", "Per 1,000 matings, by stage and family"),
            by_matings(review, table, "site", "Per 1,000 matings, by site"),
            by_time(review, table),
            levels(review, table),
            costs(review, table),
        ],
        method: format!(
            "Cumulative hazard of the first linked fault within {} days of a mating, over spans of follow-up (Fay and \
             Feuer 1997); per connection-month in force, Garwood (1936). Linked: the cause says contamination, or no \
             cause is known and cleaning restored service; the two other levels stand beside it. Costs count every \
             fault.",
            review.horizon_days
        ),
        doubts: explained(&table.rows),
    }
}

fn linked<'a>(review: &Review, table: &'a Table, by: &'a str, quantity: &'a str) -> Vec<&'a Row> {
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
    let mut rows = linked(review, table, "stage+family", PER_MONTHS);
    rows.extend(linked(review, table, "site", PER_MONTHS));
    let estimates = Estimates {
        caption: "Per time in force, by stage and family, then by site",
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
fn beside<'a>(table: &'a Table, row: &Row, quantity: &str) -> Option<&'a Row> {
    table.rows.iter().find(|other| {
        other.by == row.by
            && other.quantity == quantity
            && other.group == row.group
            && says(table, other, "level", "linked")
    })
}

/// Value and interval in their own unit.
fn worded(row: Option<&Row>) -> [String; 2] {
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
    let extra = [("mean hours to restore", Set::Number)];
    let estimates = Estimates {
        caption: "What linked faults cost in the period",
        place: "group",
        n: "faults",
        events: "",
        estimate: "cost",
        file: NAME,
    };
    estimates.with(review, &labelled(&rows), &extra, |row| {
        let hours = beside(table, row, "restore-hours").map(Amount::of);
        vec![hours.map_or_else(|| whole(None), |amount| amount.value_on(&amount.scale("")))]
    })
}
