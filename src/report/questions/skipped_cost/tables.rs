//! Tables of Q5: the ratios with their neighbours, and the money by place.

use std::borrow::Cow;

use crate::charts::number::{fixed, percent};
use crate::measures::{AnyRow, Review, Row, Table, Unit, Value};
use crate::report::page::page_table::{PageTable, Set, interval_heading};
use crate::report::questions::{Estimates, by_and_label};
use crate::report::words::flags;
use crate::report::words::label::{label, ordered, says};
use crate::report::words::number::{Amount, Scale, level, number, probability, whole};
use crate::report::words::ranked::ranked_then_flagged;

const NAME: &str = "skipped_cost";

pub(in crate::report) fn tables(review: &Review, table: &Table) -> Vec<PageTable> {
    vec![
        ratios(review, table),
        by_exposure(review, table),
        by_group(review, table),
        savings(review, table, "stage+family", "Net saving by stage and family"),
        savings(review, table, "site+stage", "Net saving by site and stage"),
        place_ratios(review, table, "stage+family", "What that rests on, by stage and family"),
        place_ratios(review, table, "site+stage", "What that rests on, by site and stage"),
        sensitivity(review, table),
    ]
}

/// The fleet's ratio, and the same for other exposures, faults and the control.
fn ratios(review: &Review, table: &Table) -> PageTable {
    // In the order of the file, where each second opinion stands below its ratio.
    let ratio = |row: &&Row| ["rate-ratio", "second-opinion"].contains(&row.quantity);
    let rows = table.rows.iter().filter(|row| row.by == "fleet").filter(ratio);
    let rows: Vec<(String, &Row)> = rows.map(|row| (variant(table, row), row)).collect();
    let extra = [("p", Set::Number), ("E-value", Set::Number), ("of the limit", Set::Number)];
    rate_ratio("The ratio, a second opinion, and its neighbours", "exposure, faults").with(
        review,
        &rows,
        &extra,
        |row| {
            let e = |name: &str| {
                number(table.own(row, name)).map_or_else(String::new, |value| fixed(value, 2))
            };
            let mut cells = p(table, row);
            cells.extend([e("e_value"), e("e_value_limit")]);
            cells
        },
    )
}

fn word<'a>(table: &'a Table, row: &'a Row, column: &str) -> &'a str {
    match table.own(row, column) {
        Value::Text(text) => text,
        _ => "",
    }
}

fn variant(table: &Table, row: &Row) -> String {
    let word = |column: &str| word(table, row, column);
    let faults = match word("faults") {
        "linked" => "linked faults",
        "any" => "faults of any cause",
        "control" => "control: faults dirt cannot produce",
        other => other,
    };
    let after = if word("after_fault") == "yes" { ", after a fault" } else { "" };
    match row.quantity {
        "second-opinion" => {
            format!("second opinion, {}: {}, {faults}{after}", row.method, word("exposure"))
        }
        _ => format!("{}, {faults}{after}", word("exposure")),
    }
}

/// Money of the fleet by exposure.
fn by_exposure(review: &Review, table: &Table) -> PageTable {
    let quantities = [
        ("attributable-cost", "associated cost"),
        ("net-saving", "net saving"),
        ("net-saving-alone", "net saving"),
    ];
    let rows: Vec<(String, &Row)> = quantities
        .into_iter()
        .flat_map(|(quantity, words)| {
            let rows = table.rows_of("fleet", quantity);
            rows.map(move |row| (format!("{words}: {}", word(table, row, "exposure")), row))
        })
        .collect();
    let estimates = Estimates {
        caption: "Money by exposure, whole fleet",
        place: "what, exposure",
        n: "matings",
        events: "faults",
        estimate: "money",
        file: NAME,
    };
    estimates.table(review, &rows)
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
        &rows.iter().map(|row| (by_and_label(row), *row)).collect::<Vec<_>>(),
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
    let amounts: Vec<Amount> = rows.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let lines = rows.iter().zip(&amounts).map(|(row, amount)| saving(table, row, amount, &scale));
    let heading = |words: &str| format!("{words}, {}", scale.unit);
    let (net, gain, cost) =
        (heading("net saving"), heading("associated cost"), heading("cost of the looks"));
    let interval = interval_heading(review, &rows.iter().map(AnyRow::leading).collect::<Vec<_>>());
    let headings = [
        ("rank", Set::Number),
        (place(by), Set::Words),
        ("matings skipped", Set::Number),
        (gain.as_str(), Set::Number),
        (cost.as_str(), Set::Number),
        (net.as_str(), Set::Number),
        (interval.as_str(), Set::Number),
        ("running share", Set::Number),
        ("chance of top three", Set::Number),
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
    let share = |name: &str| {
        number(table.own(row, name)).map_or_else(String::new, |share| percent(share, 0))
    };
    vec![
        number(table.own(row, "rank")).map_or_else(String::new, |rank| fixed(rank, 0)),
        label(row),
        whole(number(table.own(row, "matings_skipped"))),
        money("attributable"),
        money("look_cost"),
        net.value_on(scale),
        net.interval_on(scale),
        share("running_share"),
        share("top_three"),
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

/// The headline under other rules.
fn sensitivity(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of("fleet", "sensitivity").collect();
    let saving = |row: &Row| Amount::own(table, row, "net_saving", Unit::Money);
    let savings: Vec<Amount> = rows.iter().map(|row| saving(row)).collect();
    let scale = Scale::for_all(&savings, Unit::Money, &review.currency);
    let named: Vec<(String, &Row)> = rows
        .into_iter()
        .map(|row| (under(review, word(table, row, "variant")).into_owned(), row))
        .collect();
    let heading = format!("net saving, {}", scale.unit);
    let extra = [
        ("faults after skipped", Set::Number),
        ("after both seen", Set::Number),
        (heading.as_str(), Set::Number),
    ];
    rate_ratio("The headline under other rules", "rule").with(review, &named, &extra, |row| {
        let count = |name: &str| whole(number(table.own(row, name)));
        vec![count("faults_skipped"), count("faults_both"), saving(row).value_on(&scale)]
    })
}

/// What a variant of the rules is called.
pub(in crate::report) fn under<'a>(review: &Review, variant: &'a str) -> Cow<'a, str> {
    Cow::Borrowed(match variant {
        "as-ruled" => {
            let (hours, days) = (review.window_hours, review.horizon_days);
            return format!("as ruled: looks count for {hours} h, followed for {days} days").into();
        }
        "window-8h" => "looks count for 8 h",
        "window-24h" => "looks count for 24 h",
        "window-72h" => "looks count for 72 h",
        "horizon-30d" => "followed for 30 days",
        "horizon-90d" => "followed for 90 days",
        "horizon-180d" => "followed for 180 days",
        "confirmed-only" => "confirmed faults only",
        "suspect-too" => "suspect faults too",
        "reseats-as-suspect" => "suspect faults and reseats too",
        "day-precision-left-out" => "without matings known to the day only",
        "unknown-as-skipped" => "unknown coverage counted as skipped",
        "unknown-as-both" => "unknown coverage counted as both seen",
        other => other,
    })
}
