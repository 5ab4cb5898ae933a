//! The three lists of Q11: the first rows on the page, all in the file.

use super::NAME;
use crate::measures::{Review, Row, Table, Unit};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::words::do_first::{face, rows_of};
use crate::report::words::flags;
use crate::report::words::label::{label, text};
use crate::report::words::number::{Amount, Scale, level, number, whole};

/// Rows of each list on the page.
const MOST_ROWS: usize = 10;

pub(in crate::report) fn table(review: &Review, table: &Table, list: &str) -> PageTable {
    let rows: Vec<&Row> = rows_of(table, list).collect();
    let shown = &rows[..rows.len().min(MOST_ROWS)];
    let amounts: Vec<Amount> = shown.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let span = if list == "carrier" { " a month" } else { "" };
    let before = if list == "unseen-mating" { " before looking" } else { "" };
    let saving = format!("expected saving{span}{before}, {}", scale.unit);
    let interval = format!("limits ({} of each part)", level(review.level));
    let work = format!("price of the work, {}", scale.unit);
    let [caption, since] = words(list);
    let headings = [
        ("rank", Set::Number),
        ("end face", Set::Words),
        ("site, stage, family", Set::Words),
        (since, Set::Words),
        ("reason", Set::Words),
        ("zone", Set::Words),
        ("cycles tried", Set::Number),
        ("what to do", Set::Words),
        (saving.as_str(), Set::Number),
        (interval.as_str(), Set::Number),
        (work.as_str(), Set::Number),
        ("rates of", Set::Words),
        ("flags", Set::Words),
    ];
    let lines = rows.iter().map(|row| {
        let amount = Amount::of(row);
        let own = |column: &str| number(table.own(row, column));
        let count = |column: &str| own(column).map_or_else(String::new, |value| whole(Some(value)));
        let word = |column: &str| text(table, row, column).to_owned();
        // A price is known: it is not rounded as the saving is.
        let price = Amount { value: own("work_cost"), low: None, high: None, unit: Unit::Money };
        vec![
            count("rank"),
            of_service(face(table, row), &word("service")),
            label(row),
            row.group.time.clone().unwrap_or_default(),
            word("reason"),
            word("zone"),
            count("cycles"),
            word("what_to_do"),
            amount.value_on(&scale),
            amount.interval_on(&scale),
            price.value_on(&scale),
            rates(word("rates_of"), word("rates_as"), list),
            flags::words(&row.flags),
        ]
    });
    PageTable::of_first(MOST_ROWS, caption, &headings, lines.collect(), NAME)
}

/// An end face, and the service that its connection carries.
fn of_service(face: String, service: &str) -> String {
    if service.is_empty() { face } else { format!("{face}, {service}") }
}

/// Which group's rates, and which coverage they are of where that is not the row's own.
fn rates(of: String, coverage: String, list: &str) -> String {
    let of = of.replace('+', " and ");
    match (list, coverage.as_str()) {
        ("left-failing", "one") => format!("{of}, as with one end unseen"),
        _ => of,
    }
}

/// Caption, and what the time is of.
fn words(list: &str) -> [&'static str; 2] {
    match list {
        "left-failing" => ["End faces left failing", "last look"],
        "carrier" => {
            ["Carriers not cleaned since they last touched another end face", "last mated"]
        }
        _ => [
            "Connections in force, made with an end unseen (one, none) or despite a failing look",
            "mated",
        ],
    }
}
