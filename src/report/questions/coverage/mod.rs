//! Q3: which matings were made with both ends seen.

pub(in crate::report) mod picture;

use super::{NO_RECORDS, Side, beyond, firm};
use crate::measures::Review;
use crate::measures::coverage::{Base, By, NAME, Quantity, Row, Table};
use crate::report::page::page_table::PageTable;
use crate::report::page::section::{Section, counted};
use crate::report::words::flags::explained;
use crate::report::words::label::{by_and_label, in_order, label};
use crate::report::words::number::{Amount, whole};
use picture::{CLASSES, by_stage as coverage_by_stage, class_of, classified};

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.coverage;
    let finding = finding(review, table);
    let picture = coverage_by_stage(review, stage_sentence(review, table));
    let mut doubts = explained(&table.rows);
    let silent = table.quantity(Quantity::SilentMonth).count();
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
                 Intervals are exact ones on n divided by the design effect of site-weeks (Rao and Scott 1992; Korn and \
                 Graubard 1998), widened for the few of them that the rarer class lies in; in a row of one week, of sites. \
                 Where the luck of skipping lasts longer than a week at a site, blocks of four weeks or a quarter stand for weeks, \
                 as for fault rates; a row with few of them takes the correlation of all sites. Where it cannot be known whether an end was seen, the mating is \
                 left out of the share skipped."
            .to_owned(),
        doubts,
    }
}

fn finding(review: &Review, table: &Table) -> String {
    let Some(row) = firm(skipped_by(table, By::Fleet)) else {
        return if table.rows.is_empty() {
            NO_RECORDS.to_owned()
        } else {
            "Too little is known of the looks before matings to say how many were skipped."
                .to_owned()
        };
    };
    let most = most_skipped(review, table).map_or_else(String::new, |clause| format!("; {clause}"));
    format!(
        "{} of matings were made with an end unseen, of {}{most}.",
        Amount::of(row).full(&review.currency),
        counted(row.n, "mating", "matings")
    )
}

/// Shares skipped, of the matings of which it is known.
fn skipped_by(table: &Table, by: By) -> impl Iterator<Item = &Row> {
    table.rows_of(by, Quantity::Skipped).filter(|row| row.own.base == Some(Base::Known))
}

/// The fleet's share skipped, where it may headline.
fn fleet_share(table: &Table) -> Option<f64> {
    firm(skipped_by(table, By::Fleet))?.estimate
}

/// The stages that lie above the fleet with their whole interval, as a clause.
fn most_skipped(review: &Review, table: &Table) -> Option<String> {
    let stages = in_order(review, skipped_by(table, By::Stage));
    let said = |row: &&Row| Amount::of(*row).full(&review.currency);
    beyond(&stages, fleet_share(table)?, Side::Above, said)
}

fn stage_sentence(review: &Review, table: &Table) -> String {
    if fleet_share(table).is_none() {
        return "No share of the fleet to compare stages with".to_owned();
    }
    most_skipped(review, table).map_or_else(
        || "No stage skips more than the fleet by more than its interval".to_owned(),
        |clause| format!("Share of matings skipped {clause}"),
    )
}

/// The five classes side by side, by fleet and stage.
fn classes(review: &Review, table: &Table) -> PageTable {
    let rows = classified(review, table);
    let mut page = PageTable::over(&rows).words("stage", label).n("matings");
    for (class, words, _) in CLASSES {
        page = page.numbers(&format!("{words}, %"), |row| {
            let amount = class_of(table, row, class).map(Amount::of);
            let value = amount.map(|amount| Amount { low: None, high: None, ..amount });
            value.map_or_else(|| "–".to_owned(), |value| value.value_on(&value.scale("")))
        });
    }
    page.set("Classes of coverage", NAME)
}

fn skipped(review: &Review, table: &Table) -> PageTable {
    let groupings = [By::Stage, By::Family, By::Site].into_iter();
    let rows: Vec<&Row> =
        groupings.flat_map(|by| in_order(review, skipped_by(table, by))).collect();
    PageTable::over(&rows)
        .words("stage, family or site", by_and_label)
        .n("matings")
        .events("skipped")
        .estimates(review, "skipped")
        .flags()
        .set("Skipped, of the matings of which it is known", NAME)
}

fn reseats(review: &Review, table: &Table) -> PageTable {
    PageTable::over(&in_order(review, table.rows_of(By::Coverage, Quantity::Reseat)))
        .words("class", label)
        .n("matings")
        .events("reseats")
        .estimates(review, "reseats")
        .flags()
        .set("Matings undone and made again within a day, by class", NAME)
}

fn silent_months(table: &Table) -> PageTable {
    let word = |word: &Option<String>| word.clone().unwrap_or_else(|| "–".to_owned());
    PageTable::over(&table.quantity(Quantity::SilentMonth).collect::<Vec<_>>())
        .words("site", |row| word(&row.group.site))
        .words("month", |row| word(&row.group.time))
        .n("matings")
        .numbers("cleanings", |row| whole(row.events.map(|events| events as f64)))
        .set("Months without a look", NAME)
}
