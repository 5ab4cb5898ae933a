//! Q4: how often contamination-linked faults occur, and what they cost.

mod picked;
mod picture;
mod picture_recurring;
mod picture_sites;
mod tables;

use super::{NO_RECORDS, Side, apart, beyond, firm};
use crate::measures::Review;
use crate::measures::fault_rates::{By, Certainty, NAME, Quantity, Row, Table};
use crate::report::page::over_time::{OverTime, over_time};
use crate::report::page::page_table::PageTable;
use crate::report::page::section::{Section, counted};
use crate::report::words::flags::explained;
use crate::report::words::label::{in_order, label};
use crate::report::words::months::looked_back;
use crate::report::words::number::{Amount, probability};
use picked::{interval, linked, linked_by, same_place, value};
use picture::by_stage_and_family as fault_rates;
use picture_recurring::recurring_faults;
use picture_sites::fault_sites;
use tables::{recurrences, restore_times, scatter, sites, trend};

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.fault_rates;
    let places = in_order(review, linked_by(table, By::StageFamily, Quantity::PerMatings));
    let fleet = linked_by(table, By::Fleet, Quantity::PerMatings).next();
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
            linked_by(table, By::Quarter, Quantity::PerMonths),
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
            by_matings(review, table, &places),
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
         fault. Faults of one site and time come together: intervals and tests take counts over their scatter, the \
         squared gaps of a site's weeks to what the rates of stage and family make of their time over those of chance \
         (McCullagh and Nelder 1989), widened where they are few (Korn and Graubard 1998) and never below 1. Where \
         luck lasts longer, blocks of four weeks or a quarter stand for weeks: the shortest whose scatter about each \
         site's own rates the next longer does not exceed by more than its standard error, one choice for all rows. A \
         row takes its own scatter where it has enough blocks and a fault, else the fleet's. Luck that all sites share \
         in a month is not covered. Ratio to the \
         rest: exact conditional, mid-P; q: Benjamini and Hochberg (1995). Sites are standardised to the fleet's time \
         in force by stage and family, over those in which the site has a connection-month or more. Faults that \
         come back: mean cumulative function (Nelson 1988; variance, Lawless and Nadeau 1995), matings of {} \
         followed from their first moment on, times the scatter by the horizon. Trend: Laplace's test (Cox and Lewis \
         1966) and the growth of a power law (Crow 1974) over the connection-months gathered by quarter, with the \
         scatter of a site's blocks, or of quarters about the trend where that is more. Time to restore: order \
         statistics (Conover 1999); where some faults are still open, Kaplan and Meier (1958) with the limits of \
         Brookmeyer and Crowley (1982), and the mean up to the longest seen. A source that never says when a fault was \
         cleared counts in neither.",
        review.horizon_days,
        looked_back(review)
    )
}

/// What the flags mean, and what a trend may be beside one.
fn doubts(table: &Table) -> Vec<String> {
    let mut doubts = explained(&table.rows);
    if table.rows_of(By::Fleet, Quantity::RateGrowth).next().is_some() {
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
    let rows = in_order(review, linked_by(table, By::Site, Quantity::Standardised));
    match linked_by(table, By::Fleet, Quantity::PerMonths).next().and_then(|row| row.estimate) {
        Some(rate) => apart(review, &rows, rate, "sites", "the fleet's rate"),
        None => "No rate of the fleet to compare sites with".to_owned(),
    }
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
    let cost = firm(linked_by(table, By::Fleet, Quantity::FaultCost));
    let cost = cost.map_or_else(String::new, |row| {
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
    let said = |row: &&Row| matings_with_one(review, row);
    beyond(places, value, Side::Above, said).map_or_else(
        || "No stage and family lies above the fleet by more than its interval".to_owned(),
        |clause| format!("Linked faults {clause}"),
    )
}

/// Rates per matings, with the ratio to the rest of the fleet.
fn by_matings(review: &Review, table: &Table, places: &[&Row]) -> PageTable {
    let ratio = |row: &Row| same_place(table, row, Quantity::RatioToRest);
    let places: Vec<&Row> = places.iter().copied().filter(|row| says_something(row)).collect();
    PageTable::over(&places)
        .words("place", label)
        .n("matings")
        .events("faults")
        .estimates(review, "per 1,000 matings")
        .numbers("ratio to the rest", |row| value(ratio(row)))
        .numbers("interval", |row| interval(ratio(row)))
        .numbers("q", |row| {
            ratio(row).and_then(|row| row.own.q).map_or_else(String::new, probability)
        })
        .flags()
        .set("Per 1,000 matings, by stage and family", NAME)
}

/// Whether a row of a rate says anything: a fault, or enough to be firm. "0 to 1.7e9" stays in the file.
fn says_something(row: &Row) -> bool {
    row.is_firm() || row.events.is_some_and(|events| events > 0)
}

/// Rates per time in force.
fn by_time(review: &Review, table: &Table) -> PageTable {
    let mut rows = in_order(review, linked_by(table, By::StageFamily, Quantity::PerMonths));
    rows.retain(|row| says_something(row));
    let fit = |row: &Row| same_place(table, row, Quantity::Fit);
    PageTable::over(&rows)
        .words("place", label)
        .n("connection-months")
        .events("faults")
        .estimates(review, "per 1,000 connection-months")
        .numbers("FIT", |row| value(fit(row)))
        .numbers("interval, FIT", |row| interval(fit(row)))
        .flags()
        .set("Per time in force, by stage and family", NAME)
}

/// The fleet's rate at each level of linking.
fn levels(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::Fleet, Quantity::PerMatings).collect();
    PageTable::over(&rows)
        .words("level", |row| meaning(row.own.level).to_owned())
        .n("matings")
        .events("faults")
        .estimates(review, "per 1,000 matings")
        .flags()
        .set("How surely they are linked", NAME)
}

fn meaning(level: Certainty) -> &'static str {
    match level {
        Certainty::Linked => "linked: the cause says so, or cleaning restored service",
        Certainty::Confirmed => "confirmed: the cause says so",
        Certainty::Suspect => "suspect: no fault found, but cleaned or reseated",
    }
}

fn costs(review: &Review, table: &Table) -> PageTable {
    let rows = linked(review, table, &[By::Fleet, By::Stage, By::Family], Quantity::FaultCost);
    PageTable::over(&rows)
        .words("group", label)
        .n("faults")
        .estimates(review, "cost")
        .flags()
        .set("What linked faults cost in the period", NAME)
}
