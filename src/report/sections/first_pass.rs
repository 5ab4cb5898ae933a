//! Q1: how clean end faces arrive.

use super::{Estimates, NO_RECORDS, apart, firm, labelled, surely_below};
use crate::measures::{Review, Row, Table, Unit};
use crate::report::flags::explained;
use crate::report::label::{label, ordered};
use crate::report::number::{Amount, whole};
use crate::report::page_table::{PageTable, Set};
use crate::report::pictures::{
    OverTime, first_pass_by_site, first_pass_by_stage, first_pass_by_week, over_time,
};
use crate::report::section::{Section, counted};

const QUANTITY: &str = "first-pass-clean";
const NAME: &str = "first_pass";

pub(super) fn section(review: &Review) -> Section {
    let table = review.table(NAME);
    let places = ordered(review, table, "stage+family", QUANTITY);
    let sites = ordered(review, table, "site", QUANTITY);
    let fleet = table.rows_of("fleet", QUANTITY).next().and_then(|row| row.estimate);
    let by_site = match fleet {
        Some(value) => apart(review, &sites, value, "sites", "the fleet's share"),
        None => "No share of the fleet to compare sites with".to_owned(),
    };
    let trend = OverTime {
        picture: "first-pass-by-quarter",
        table: NAME,
        quantity: QUANTITY,
        drawn: "Share of end faces clean at the first look, routine visits",
        counted: "first looks",
    };
    let finding = finding(review, table, &places);
    let pictures = [
        first_pass_by_stage(review, place_sentence(review, &places, fleet)),
        first_pass_by_site(review, by_site),
        over_time(review, trend, "Clean at the first look"),
        first_pass_by_week(review),
    ];
    Section {
        id: NAME,
        question: "How clean do end faces arrive?",
        finding,
        pictures: pictures.into_iter().flatten().collect(),
        tables: vec![by_place(review, table, &places), others(review, table)],
        method: "Visits whose first event is a look that passes, of all visits whose first event is a look; prompted \
                 and repeated visits stand apart. The interval is Wilson's on n divided by the design effect of work \
                 orders within sites (Wilson 1927; Rao and Scott 1992). Limits by week are those of the p-prime chart \
                 (Laney 2002), signals those of the Western Electric rules (1956)."
            .to_owned(),
        doubts: explained(table.rows.iter().filter(|row| row.quantity == QUANTITY)),
    }
}

fn finding(review: &Review, table: &Table, places: &[&Row]) -> String {
    let fleet = table.rows_of("fleet", QUANTITY).next();
    let Some(row) = firm(fleet.into_iter()) else {
        return match fleet {
            Some(row) => format!(
                "Too little is known to say how clean end faces arrive ({}).",
                counted(row.n, "first look", "first looks")
            ),
            None => NO_RECORDS.to_owned(),
        };
    };
    let worst = surely_below(places, row.estimate.unwrap_or(0.0)).map_or_else(String::new, |row| {
        format!("; clearly lowest at {}: {}", label(row), Amount::of(row).full(&review.currency))
    });
    format!(
        "{} of end faces were clean at the first look, of {}{worst}.",
        Amount::of(row).full(&review.currency),
        counted(row.n, "visit", "visits")
    )
}

fn place_sentence(review: &Review, places: &[&Row], fleet: Option<f64>) -> String {
    let Some(fleet) = fleet else {
        return "No share of the fleet to compare places with".to_owned();
    };
    surely_below(places, fleet).map_or_else(
        || "No stage and family lies below the fleet by more than its interval".to_owned(),
        |row| {
            format!(
                "Clearly lowest at {}: {} clean at the first look",
                label(row),
                Amount::of(row).full(&review.currency)
            )
        },
    )
}

fn by_place(review: &Review, table: &Table, rows: &[&Row]) -> PageTable {
    let estimates = Estimates {
        caption: "By stage and family",
        place: "stage, family",
        n: "first looks",
        events: "clean",
        estimate: "clean",
        file: NAME,
    };
    let extra = [
        ("failed: dirt", Set::Number),
        ("defect", Set::Number),
        ("not said", Set::Number),
        ("begun without a look, %", Set::Number),
    ];
    estimates.with(review, &labelled(rows), &extra, |row| own_cells(table, row))
}

fn own_cells(table: &Table, row: &Row) -> Vec<String> {
    let count = |name: &str| whole(crate::report::number::number(table.own(row, name)));
    let unseen = Amount::own(table, row, "cleaned_unseen", Unit::Share);
    let scale = unseen.scale("");
    vec![count("contaminated"), count("defective"), count("unclear"), unseen.value_on(&scale)]
}

/// Side, dust cap, kind of visit, supplier in one table.
fn others(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = Vec::new();
    for by in ["row", "side", "capped", "family", "stage", "supplier"] {
        rows.extend(ordered(review, table, by, QUANTITY));
    }
    let estimates = Estimates {
        caption: "By kind of visit, side, dust cap, family, stage, supplier",
        place: "group",
        n: "first looks",
        events: "clean",
        estimate: "clean",
        file: NAME,
    };
    let rows: Vec<(String, &Row)> = rows.into_iter().map(|row| (named(row), row)).collect();
    estimates.table(review, &rows)
}

/// A group with the name of what it groups by: "dust cap: yes".
fn named(row: &Row) -> String {
    let by = match row.by {
        "row" => "visits",
        "capped" => "dust cap",
        by => by,
    };
    format!("{by}: {}", label(row))
}
