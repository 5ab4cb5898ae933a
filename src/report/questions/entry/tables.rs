//! The tables of Q6.

use super::{how_often, steps_of};
use crate::measures::{Review, Row, Table, Unit, Value};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::questions::{Estimates, Named};
use crate::report::words::label::part;
use crate::report::words::number::{Amount, number, probability, whole};

const NAME: &str = "entry";
const STEPS: &str = "from+stage";

fn text(table: &Table, row: &Row, column: &str) -> String {
    match table.own(row, column) {
        Value::Text(text) => text.clone(),
        _ => String::new(),
    }
}

fn estimates<'a>(caption: &'a str, place: &'a str) -> Estimates<'a> {
    Estimates {
        caption,
        place,
        n: "end faces that pass it",
        events: "dirty after",
        estimate: "chance that dirt enters",
        file: NAME,
    }
}

/// Every step and repeat, with what stands beside its chance.
pub(in crate::report) fn steps(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<Named> =
        table.rows_of(STEPS, NAME).map(|row| (steps_of(table, row).to_owned(), row)).collect();
    let extra = [
        ("less false alarms", Set::Words),
        ("share of all dirt", Set::Words),
        ("site-weeks", Set::Number),
        ("why no single value", Set::Words),
    ];
    estimates("Where dirt enters", "step").with(review, &rows, &extra, |row| {
        let beside = |quantity: &str| {
            let steps = table.own(row, "steps");
            let mut rows = table.rows_of(STEPS, quantity);
            let found = rows.find(|own| table.own(own, "steps") == steps);
            found.map_or_else(String::new, |own| Amount::of(own).full(&review.currency))
        };
        vec![
            beside("entry-less-alarms"),
            beside("share-of-dirt"),
            whole(number(table.own(row, "clusters"))),
            text(table, row, "reason"),
        ]
    })
}

/// What an avoided percentage point saves, the most first.
pub(in crate::report) fn savings(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<Named> = table
        .rows_of(STEPS, "point-saving")
        .map(|row| (steps_of(table, row).to_owned(), row))
        .collect();
    let estimates = Estimates {
        caption: "What an avoided percentage point of dirt saves",
        place: "step",
        n: "end faces that pass it",
        events: "dirty after",
        estimate: "saving",
        file: NAME,
    };
    let extra = [
        ("rank", Set::Number),
        ("cleaning", Set::Words),
        ("faults of unseen ends", Set::Words),
        ("first in resamples", Set::Words),
    ];
    estimates.with(review, &rows, &extra, |row| {
        let money =
            |column: &str| Amount::own(table, row, column, Unit::Money).short(&review.currency);
        let sure = Amount::own(table, row, "probability", Unit::Share);
        vec![
            number(table.own(row, "rank")).map_or_else(String::new, |rank| whole(Some(rank))),
            money("cleaning_cost"),
            money("downstream_cost"),
            sure.value.map_or_else(String::new, how_often),
        ]
    })
}

/// The same by dust cap or family.
pub(in crate::report) fn by_part(
    review: &Review,
    table: &Table,
    by: &str,
    column: &str,
    caption: &str,
) -> PageTable {
    let named = |row| {
        let word = part(row, column).unwrap_or("unknown");
        (format!("{}, {word}", steps_of(table, row)), row)
    };
    let mut rows: Vec<Named> = table.rows_of(by, NAME).map(named).collect();
    if column == "capped" {
        // Step by step, so that a pair stands together.
        let place = |row: &Row| {
            let mut steps = table.rows_of(STEPS, NAME).map(|own| table.own(own, "steps"));
            steps.position(|steps| steps == table.own(row, "steps"))
        };
        rows.sort_by_key(|(_, row)| place(row));
    }
    estimates(caption, "step").table(review, &rows)
}

/// Factor and test of the cap, chance per mating and month, false alarms.
pub(in crate::report) fn rates(review: &Review, table: &Table) -> PageTable {
    let quantities = [
        ("cap-factor", "hazard, capped against uncapped"),
        (
            "cap-split",
            "do capped and uncapped differ in any step: chi-square (n: degrees of freedom)",
        ),
        ("per-mating", "chance that dirt enters, for each mating in between"),
        ("per-month", "chance that dirt enters, for each month in between"),
        ("false-alarm", "looks failing within an hour after a passing one, nothing between"),
    ];
    let mut lines = Vec::new();
    for (quantity, words) in quantities {
        for row in table.rows_of("fleet", quantity) {
            let amount = Amount::of(row);
            lines.push(vec![
                words.to_owned(),
                whole(Some(row.n)),
                amount.short(&review.currency),
                amount.interval_on(&amount.scale(&review.currency)),
                number(table.own(row, "p")).map_or_else(String::new, probability),
                crate::report::words::flags::words(&row.flags),
            ]);
        }
    }
    let headings = [
        ("what", Set::Words),
        ("n", Set::Number),
        ("estimate", Set::Words),
        ("interval", Set::Words),
        ("p", Set::Number),
        ("flags", Set::Words),
    ];
    PageTable::of("Caps, matings, months, false alarms", &headings, lines, NAME)
}

/// Which pairs of visits are passages.
pub(in crate::report) fn passages(review: &Review, table: &Table) -> PageTable {
    let words = |kind: &str| match kind {
        "routine" => "routine passage: counted here",
        "prompted" => "passage that a fault prompted",
        "not-known-clean" => "not known clean at the end of the earlier visit",
        "cleaned-unseen" => "later visit began with a cleaning",
        "failed-otherwise" => "later look failed for a defect or without a finding",
        _ => "later visit at an earlier stage",
    };
    let lines = table.rows_of("kind", "passages").map(|row| {
        vec![
            words(&text(table, row, "reason")).to_owned(),
            whole(row.events.map(|events| events as f64)),
            Amount::of(row).short(&review.currency),
        ]
    });
    let headings =
        [("pair of visits", Set::Words), ("how many", Set::Number), ("share", Set::Words)];
    PageTable::of("Pairs of visits of one end face", &headings, lines.collect(), NAME)
}
