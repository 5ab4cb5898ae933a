//! The lists of Q11: the first rows on the page, all in the file.

use crate::measures::results::Money;
use crate::measures::skipped_cost::Exposure;
use crate::measures::worklist::{List, NAME, Row, When};
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::words::do_first::face;
use crate::report::words::label::label;
use crate::report::words::number::{Amount, Scale, count_or_dash, level};

/// Rows of each list on the page.
const MOST_ROWS: usize = 10;

/// The list of what is worth doing now, then the three lists.
pub(in crate::report) fn tables(review: &Review) -> Vec<PageTable> {
    let lists = List::ALL.iter().map(|list| table(review, *list));
    [now(review)].into_iter().chain(lists).collect()
}

/// What is worth doing now, of all lists.
fn now(review: &Review) -> PageTable {
    let rows = review.worklist.overall();
    let shown = &rows[..rows.len().min(MOST_ROWS)];
    let amounts: Vec<Amount> = shown.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let word = |word: &Option<String>| word.clone().unwrap_or_default();
    PageTable::over(&rows)
        .numbers("place", |row| count_or_dash(row.own.overall))
        .words("end face", |row| of_service(face(row), &row.own.service))
        .words("list", |row| words(row.own.list).short.to_owned())
        .words("site, stage, family", label)
        .words("reason", |row| word(&row.own.reason))
        .words("what to do", |row| word(&row.own.what_to_do))
        .numbers(&format!("expected saving, {}", scale.unit), |row| {
            Amount::of(row).value_on(&scale)
        })
        .numbers(&format!("limits ({} of each part)", level(review.level)), |row| {
            Amount::of(row).interval_on(&scale)
        })
        .set_first(MOST_ROWS, "Worth doing now, of all lists", NAME)
}

fn table(review: &Review, list: List) -> PageTable {
    let rows: Vec<&Row> = review.worklist.listed(list).collect();
    let shown = &rows[..rows.len().min(MOST_ROWS)];
    let amounts: Vec<Amount> = shown.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let Words { caption, since, span, short: _ } = words(list);
    let saving = format!("expected saving{span}, {}", scale.unit);
    let interval = format!("limits ({} of each part)", level(review.level));
    let word = |word: &Option<String>| word.clone().unwrap_or_default();
    let count = |count: Option<i64>| count.map_or_else(String::new, |_| count_or_dash(count));
    // A price is known: it is not rounded as the saving is.
    let price = |price: Option<Money>| Amount::money(price).value_on(&scale);
    PageTable::over(&rows)
        .numbers("rank", |row| count(row.own.rank))
        .words("end face", |row| of_service(face(row), &row.own.service))
        .words("site, stage, family", label)
        .words(since, |row| word(&row.group.time))
        .words("reason", |row| word(&row.own.reason))
        .words("zone", |row| row.own.zone.map_or_else(String::new, |zone| zone.word().to_owned()))
        .numbers("cycles tried", |row| count(row.own.cycles.map(i64::from)))
        .words("what to do", |row| word(&row.own.what_to_do))
        .numbers(&saving, |row| Amount::of(row).value_on(&scale))
        .numbers(&interval, |row| Amount::of(row).interval_on(&scale))
        .numbers(&format!("price of the work, {}", scale.unit), |row| price(row.own.work_cost))
        .words("when", |row| when(row).to_owned())
        .words("rates of", |row| rates(row))
        .flags()
        .set_first(MOST_ROWS, caption, NAME)
}

/// An end face, and the service that its connection carries.
fn of_service(face: String, service: &Option<String>) -> String {
    match service {
        Some(service) => format!("{face}, {service}"),
        None => face,
    }
}

/// When the work is worth its price.
pub(in crate::report) fn when(row: &Row) -> &'static str {
    match row.own.when {
        Some(When::Now) => "now",
        Some(When::ThereAnyhow) => "when there anyhow",
        None => "",
    }
}

/// Which group's rates, and which matings they are of where those are not the row's own.
fn rates(row: &Row) -> String {
    let of = row.own.rates_of.map_or_else(String::new, |of| of.word().replace('+', " and "));
    match (row.own.list, row.own.rates_as) {
        (List::LeftFailing, Some(Exposure::One)) => format!("{of}, as with one end unseen"),
        _ => of,
    }
}

/// What the table of a list says.
struct Words {
    caption: &'static str,
    /// What the time is of.
    since: &'static str,
    /// What the saving is of.
    span: &'static str,
    /// What its rows are.
    short: &'static str,
}

fn words(list: List) -> Words {
    match list {
        List::LeftFailing => Words {
            caption: "End faces left failing",
            since: "last look",
            span: "",
            short: "left failing",
        },
        List::Carrier => Words {
            caption: "Carriers not cleaned since they last touched another end face",
            since: "last mated",
            span: " in the first month",
            short: "carrier",
        },
        List::UnseenMating => Words {
            caption: "Connections in force, made with an end unseen (one, none) or despite a failing look",
            since: "mated",
            span: "",
            short: "unseen",
        },
    }
}
