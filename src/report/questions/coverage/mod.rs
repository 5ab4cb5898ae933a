//! Q3: which matings were made with both ends seen.

pub(in crate::report) mod picture;

use super::{Estimates, NO_RECORDS, by_and_label, firm, labelled, surely_above};
use crate::measures::{Review, Row, Table};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::page::section::{Section, counted};
use crate::report::words::flags::explained;
use crate::report::words::label::{label, ordered, says};
use crate::report::words::number::{Amount, whole};
use picture::{CLASSES, by_stage as coverage_by_stage};

const NAME: &str = "coverage";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = review.table(NAME);
    let finding = finding(review, table);
    let picture = coverage_by_stage(review, stage_sentence(review, table));
    let mut doubts = explained(&table.rows);
    let silent = table.rows.iter().filter(|row| row.quantity == "silent-month").count();
    if silent > 0 {
        doubts.push(format!(
            "{} of a site without a single look, though it worked: matings of that month count as not known.",
            counted(silent as f64, "month", "months")
        ));
    }
    Section {
        id: NAME,
        question: "Which matings were made with both ends inspected and passing?",
        finding,
        pictures: picture.into_iter().collect(),
        tables: vec![classes(review, table), skipped(review, table), reseats(review, table), silent_months(table)],
        method: "Each end counts as seen if its last look before the mating, within the window of the settings and with \
                 no cleaning after it, passed; a mating is of the first class that fits, and skipped if an end was unseen. \
                 Intervals are Wilson's on n divided by the design effect of site-weeks (Rao and Scott 1992), widened \
                 for resting on few of them; in a row of one week, of sites. Where it cannot be known whether an end was seen, the mating is \
                 left out of the share skipped."
            .to_owned(),
        doubts,
    }
}

fn finding(review: &Review, table: &Table) -> String {
    let known = |row: &&Row| says(table, row, "base", "known");
    let fleet = table.rows_of("fleet", "skipped").find(known);
    let Some(row) = firm(fleet.into_iter()) else {
        return if table.rows.is_empty() {
            NO_RECORDS.to_owned()
        } else {
            "Too little is known of the looks before matings to say how many were skipped."
                .to_owned()
        };
    };
    let most = most_skipped(review, table).map_or_else(String::new, |row| {
        format!("; clearly most at {}: {}", label(row), Amount::of(row).full(&review.currency))
    });
    format!(
        "{} of matings were made with an end unseen, of {}{most}.",
        Amount::of(row).full(&review.currency),
        counted(row.n, "mating", "matings")
    )
}

/// The fleet's share skipped, where it may headline.
fn fleet_share(table: &Table) -> Option<f64> {
    firm(table.rows_of("fleet", "skipped").filter(|row| says(table, row, "base", "known")))?
        .estimate
}

/// The stage that lies above the fleet with its whole interval, and most.
fn most_skipped<'a>(review: &Review, table: &'a Table) -> Option<&'a Row> {
    let known = |row: &&Row| says(table, row, "base", "known");
    let stages: Vec<&Row> =
        ordered(review, table, "stage", "skipped").into_iter().filter(known).collect();
    surely_above(&stages, fleet_share(table)?)
}

fn stage_sentence(review: &Review, table: &Table) -> String {
    if fleet_share(table).is_none() {
        return "No share of the fleet to compare stages with".to_owned();
    }
    most_skipped(review, table).map_or_else(
        || "No stage skips more than the fleet by more than its interval".to_owned(),
        |row| {
            let share = Amount::of(row).full(&review.currency);
            format!("Most often skipped at {}: {share} of matings", label(row))
        },
    )
}

/// The five classes side by side, by fleet and stage.
fn classes(review: &Review, table: &Table) -> PageTable {
    let mut lines = Vec::new();
    for by in ["fleet", "stage"] {
        for both in ordered(review, table, by, "both") {
            if !says(table, both, "base", "all") {
                continue;
            }
            let mut line = vec![label(both), whole(Some(both.n))];
            line.extend(CLASSES.map(|(class, _, _)| {
                let row = table
                    .rows_of(by, class)
                    .find(|row| row.group == both.group && says(table, row, "base", "all"));
                row.map_or_else(
                    || "–".to_owned(),
                    |row| {
                        let amount = Amount { low: None, high: None, ..Amount::of(row) };
                        amount.value_on(&amount.scale(""))
                    },
                )
            }));
            lines.push(line);
        }
    }
    let mut headings = vec![("stage", Set::Words), ("matings", Set::Number)];
    let names = CLASSES.map(|(_, words, _)| format!("{words}, %"));
    headings.extend(names.iter().map(|name| (name.as_str(), Set::Number)));
    PageTable::of("Classes of coverage", &headings, lines, NAME)
}

fn skipped(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = Vec::new();
    for by in ["stage", "family", "site"] {
        rows.extend(
            ordered(review, table, by, "skipped")
                .into_iter()
                .filter(|row| says(table, row, "base", "known")),
        );
    }
    let estimates = Estimates {
        caption: "Skipped, of the matings of which it is known",
        place: "stage, family or site",
        n: "matings",
        events: "skipped",
        estimate: "skipped",
        file: NAME,
    };
    estimates.table(review, &by_and_label(&rows))
}

fn reseats(review: &Review, table: &Table) -> PageTable {
    let rows = ordered(review, table, "coverage", "reseat");
    let estimates = Estimates {
        caption: "Matings undone and made again within a day, by class",
        place: "class",
        n: "matings",
        events: "reseats",
        estimate: "reseats",
        file: NAME,
    };
    estimates.table(review, &labelled(&rows))
}

fn silent_months(table: &Table) -> PageTable {
    let rows = table.rows.iter().filter(|row| row.quantity == "silent-month").map(|row| {
        let text = |word: &Option<String>| word.clone().unwrap_or_else(|| "–".to_owned());
        vec![
            text(&row.group.site),
            text(&row.group.time),
            whole(Some(row.n)),
            whole(row.events.map(|events| events as f64)),
        ]
    });
    let headings = [
        ("site", Set::Words),
        ("month", Set::Words),
        ("matings", Set::Number),
        ("cleanings", Set::Number),
    ];
    PageTable::of("Months without a look", &headings, rows.collect(), NAME)
}
