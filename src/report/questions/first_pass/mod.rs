//! Q1: how clean end faces arrive.

mod picture;
mod picture_funnel;
mod picture_weeks;
mod site_table;

use super::{Estimates, NO_RECORDS, apart, firm, labelled, surely_below};
use crate::measures::{Review, Row, Table, Unit};
use crate::report::page::over_time::{OverTime, over_time};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::page::section::{Section, counted};
use crate::report::words::flags::explained;
use crate::report::words::label::{label, ordered};
use crate::report::words::number::{Amount, whole};
use picture::{by_site as first_pass_by_site, by_stage as first_pass_by_stage};
use picture_funnel::funnel as first_pass_funnel;
use picture_weeks::by_week as first_pass_by_week;
use site_table::{ranking, unranked};

const QUANTITY: &str = "first-pass-clean";
const NAME: &str = "first_pass";
/// How it is counted. Shares of false alarms and of intervals that miss are those simulated in
/// `tests/reference/proof.csv`.
const METHOD: &str = "Visits whose first event is a look that passes, of all visits whose first event is a look; \
    prompted and repeated visits stand apart. The interval is Wilson's on n divided by the design effect of work orders within sites \
    (Wilson 1927; Rao and Scott 1992), the design effect widened for resting on few clusters; where nearly all pass \
    or fail and work orders are much alike, 92 to 94 in a hundred hold instead of 95; quarters of the trend rest on \
    site-weeks, and kinds of visit on n as it is. Sites: shares drawn towards the mean by a beta-binomial fit of \
    effective sizes (maximum likelihood), ranked by expected rank (Laird and Louis 1989); the fit is taken as known, \
    so with a dozen sites about a fifth of these intervals miss instead of a twentieth, with sixty sites of many \
    looks about a sixteenth. The funnel's limits are widened for sites that differ (Spiegelhalter 2005), the \
    widening corrected for the outliers that it cuts off; where few fail, or sites of many looks differ, five to \
    eight in a thousand fall outside the outer limits by chance instead of two. Limits by week are those of the \
    p-prime chart (Laney 2002), signals those of the Western Electric rules (1956): of charts of half a year on \
    which nothing happens one in four to six shows a signal somewhere, two in five where fewer than one look a week \
    fails or passes.";

pub(in crate::report) fn section(review: &Review) -> Section {
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
    let mut doubts = explained(table.rows.iter().filter(|row| row.quantity == QUANTITY));
    doubts.extend(unranked(table));
    let pictures = [
        first_pass_by_stage(review, place_sentence(review, &places, fleet)),
        first_pass_by_site(review, by_site),
        first_pass_funnel(review),
        over_time(review, trend, "Clean at the first look", ""),
        first_pass_by_week(review),
    ];
    Section {
        id: NAME,
        question: "How clean do end faces arrive?",
        finding,
        pictures: pictures.into_iter().flatten().collect(),
        tables: vec![
            by_place(review, table, &places),
            ranking(review, table),
            others(review, table),
        ],
        method: METHOD.to_owned(),
        doubts,
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
    let count = |name: &str| whole(crate::report::words::number::number(table.own(row, name)));
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
