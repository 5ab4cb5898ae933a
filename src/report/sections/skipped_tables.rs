//! Tables of Q5: the ratios with their neighbours, and the money by place.

use super::{Estimates, by_and_label};
use crate::charts::number::{fixed, percent};
use crate::measures::{Review, Row, Table, Unit, Value};
use crate::report::flags;
use crate::report::label::{label, ordered, says};
use crate::report::number::{Amount, Scale, level, number, probability, whole};
use crate::report::page_table::{PageTable, Set};
use crate::report::ranked::ranked_then_flagged;

const NAME: &str = "skipped_cost";

pub(super) fn tables(review: &Review, table: &Table) -> Vec<PageTable> {
    vec![
        ratios(review, table),
        by_group(review, table),
        savings(review, table, "stage+family", "Net saving by stage and family"),
        savings(review, table, "site+stage", "Net saving by site and stage"),
        place_ratios(review, table, "stage+family", "What that rests on, by stage and family"),
        place_ratios(review, table, "site+stage", "What that rests on, by site and stage"),
    ]
}

/// The fleet's ratio, and the same for other exposures, faults and the control.
fn ratios(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = table.rows_of("fleet", "rate-ratio").collect();
    rows.extend(table.rows_of("fleet", "homogeneity"));
    let extra = [("p", Set::Number)];
    let rows: Vec<(String, &Row)> =
        rows.into_iter().map(|row| (variant(table, row), row)).collect();
    rate_ratio("The ratio and its neighbours", "exposure, faults").with(
        review,
        &rows,
        &extra,
        |row| p(table, row),
    )
}

fn variant(table: &Table, row: &Row) -> String {
    let word = |column: &str| match table.own(row, column) {
        Value::Text(text) => text.as_str(),
        _ => "",
    };
    let faults = match word("faults") {
        "linked" => "linked faults",
        "any" => "faults of any cause",
        "control" => "control: faults dirt cannot produce",
        other => other,
    };
    let after = if word("after_fault") == "yes" { ", after a fault" } else { "" };
    if row.quantity == "homogeneity" {
        return format!("do the strata agree? {}{after}: chi-square", word("exposure"));
    }
    format!("{}, {faults}{after}", word("exposure"))
}

fn by_group(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = Vec::new();
    for by in ["stage", "family", "site"] {
        let headline = |row: &&Row| {
            says(table, row, "exposure", "skipped") && says(table, row, "faults", "linked")
        };
        rows.extend(ordered(review, table, by, "rate-ratio").into_iter().filter(headline));
    }
    let extra = [("p", Set::Number)];
    rate_ratio("The ratio by stage, family and site", "group").with(
        review,
        &by_and_label(&rows),
        &extra,
        |row| p(table, row),
    )
}

fn rate_ratio<'a>(caption: &'a str, place: &'a str) -> Estimates<'a> {
    Estimates {
        caption,
        place,
        n: "connection-months",
        events: "faults",
        estimate: "rate ratio",
        file: NAME,
    }
}

fn p(table: &Table, row: &Row) -> Vec<String> {
    vec![number(table.own(row, "p")).map_or_else(String::new, probability)]
}

/// What each place would save, best first.
fn savings(review: &Review, table: &Table, by: &'static str, caption: &str) -> PageTable {
    let rows = ranked_then_flagged(review, by);
    let amounts: Vec<Amount> = rows.iter().map(|row| Amount::of(row)).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let lines = rows.iter().zip(&amounts).map(|(row, amount)| saving(table, row, amount, &scale));
    let heading = |words: &str| format!("{words}, {}", scale.unit);
    let (net, gain, cost) =
        (heading("net saving"), heading("associated cost"), heading("cost of the looks"));
    let interval = super::interval_heading(review, rows.iter().copied());
    let headings = [
        ("rank", Set::Number),
        (place(by), Set::Words),
        ("matings skipped", Set::Number),
        (gain.as_str(), Set::Number),
        (cost.as_str(), Set::Number),
        (net.as_str(), Set::Number),
        (interval.as_str(), Set::Number),
        ("running share", Set::Number),
        ("flags", Set::Words),
    ];
    PageTable::of(caption, &headings, lines.collect(), NAME)
}

fn place(by: &str) -> &'static str {
    if by == "stage+family" { "stage, family" } else { "site, stage" }
}

fn saving(table: &Table, row: &Row, net: &Amount, scale: &Scale) -> Vec<String> {
    // Written no finer than the net saving's interval supports.
    let money = |name: &str| Amount { value: number(table.own(row, name)), ..*net }.value_on(scale);
    let running = number(table.own(row, "running_share"));
    vec![
        number(table.own(row, "rank")).map_or_else(String::new, |rank| fixed(rank, 0)),
        label(row),
        whole(number(table.own(row, "matings_skipped"))),
        money("attributable"),
        money("look_cost"),
        net.value_on(scale),
        net.interval_on(scale),
        running.map_or_else(String::new, |share| percent(share, 0)),
        flags::words(&row.flags),
    ]
}

/// The ratios and counts that the savings of the places rest on.
fn place_ratios(review: &Review, table: &Table, by: &'static str, caption: &str) -> PageTable {
    let lines = ranked_then_flagged(review, by).into_iter().map(|row| {
        let count = |name: &str| whole(number(table.own(row, name)));
        let ratio = Amount::own(table, row, "ratio", Unit::Ratio);
        let scale = ratio.scale("");
        vec![
            label(row),
            count("matings_skipped"),
            count("faults_skipped"),
            count("faults_both"),
            ratio.value_on(&scale),
            ratio.interval_on(&scale),
            flags::words(&row.flags),
        ]
    });
    let interval = format!("{} interval (shrunk to the common spread)", level(review.level));
    let headings = [
        (place(by), Set::Words),
        ("matings skipped", Set::Number),
        ("faults after skipped", Set::Number),
        ("faults after both seen", Set::Number),
        ("rate ratio", Set::Number),
        (interval.as_str(), Set::Number),
        ("flags", Set::Words),
    ];
    PageTable::of(caption, &headings, lines.collect(), NAME)
}
