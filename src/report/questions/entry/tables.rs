//! The tables of Q6.

use crate::charts::number::percent;
use crate::measures::entry::{By, NAME, Quantity, Reason, Row, Table};
use crate::measures::results::Money;
use crate::measures::{Review, Unit};
use crate::report::page::page_table::{Laid, PageTable};
use crate::report::words::flags;
use crate::report::words::number::{Amount, count_or_dash, probability, whole};

/// A row's steps in words.
pub(in crate::report) fn steps_of(row: &Row) -> String {
    row.own.steps.as_ref().map_or_else(|| "–".to_owned(), ToString::to_string)
}

/// What is said of the steps of a row by another quantity.
pub(in crate::report) fn same_steps<'t>(
    table: &'t Table,
    row: &Row,
    quantity: Quantity,
) -> Option<&'t Row> {
    let steps = row.own.steps.as_ref()?;
    table.rows_of(By::Step, quantity).find(|other| other.own.steps.as_ref() == Some(steps))
}

/// How often a row was the first, in words that promise no certainty.
pub(in crate::report) fn how_often(share: f64) -> String {
    match share {
        share if share > 0.995 => format!("over {}", percent(0.99, 0)),
        share if share < 0.005 => format!("under {}", percent(0.01, 0)),
        share => percent(share, 0),
    }
}

/// Steps, what is counted of them, and an estimate.
fn of_steps<'r, 't>(
    review: &Review,
    rows: &'r [&'t Row],
    named: impl Fn(&Row) -> String,
    estimate: &str,
) -> Laid<'r, &'t Row> {
    PageTable::over(rows)
        .words("step", |row| named(row))
        .n("end faces that pass it")
        .events("dirty after")
        .estimates(review, estimate)
}

/// What the chances are called.
const CHANCE: &str = "chance that dirt enters";

/// Every step and repeat: the chance that dirt enters, and what else is known of it.
pub(in crate::report) fn steps(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::Step, Quantity::Entry).collect();
    let other = |row: &Row, quantity: Quantity| {
        same_steps(table, row, quantity)
            .map_or_else(String::new, |other| Amount::of(other).full(&review.currency))
    };
    of_steps(review, &rows, steps_of, CHANCE)
        .words("less false alarms", |row| other(row, Quantity::EntryLessAlarms))
        .words("share of all dirt", |row| other(row, Quantity::ShareOfDirt))
        .numbers("clusters", |row| whole(row.own.clusters.map(|clusters| clusters as f64)))
        .words("why no single value", |row| row.own.reason.map_or("", Reason::word).to_owned())
        .flags()
        .set("Where dirt enters", NAME)
}

/// What an avoided percentage point saves, the most first.
pub(in crate::report) fn savings(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::Step, Quantity::PointSaving).collect();
    let money = |amount: Option<Money>| {
        let amount = amount.map(|amount| amount.0 as f64);
        Amount::plain(amount, Unit::Money).short(&review.currency)
    };
    of_steps(review, &rows, steps_of, "saving")
        .numbers("rank", |row| row.own.rank.map_or_else(String::new, |rank| rank.to_string()))
        .words("cleaning", |row| money(row.own.cleaning_cost))
        .words("faults of unseen ends", |row| money(row.own.downstream_cost))
        .words("first in resamples", |row| row.own.probability.map_or_else(String::new, how_often))
        .flags()
        .set("What an avoided percentage point of dirt saves", NAME)
}

/// The chances by dust cap, step by step, so that a pair stands together.
pub(in crate::report) fn by_cap(review: &Review, table: &Table) -> PageTable {
    let steps: Vec<&Row> = table.rows_of(By::Step, Quantity::Entry).collect();
    let mut rows: Vec<&Row> = table.rows_of(By::StepCapped, Quantity::Entry).collect();
    rows.sort_by_key(|row| steps.iter().position(|whole| whole.own.steps == row.own.steps));
    of_steps(review, &rows, |row| named(row, &row.group.capped), CHANCE)
        .flags()
        .set("By dust cap at the later look", NAME)
}

/// The chances by family.
pub(in crate::report) fn by_family(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::StepFamily, Quantity::Entry).collect();
    of_steps(review, &rows, |row| named(row, &row.group.family), CHANCE)
        .flags()
        .set("By family, where there is dirt enough", NAME)
}

/// Steps and a word of the row's group.
fn named(row: &Row, word: &Option<String>) -> String {
    format!("{}, {}", steps_of(row), word.as_deref().unwrap_or("unknown"))
}

/// Rates of the whole fleet in the order of their table, with what they are.
const RATES: [(Quantity, &str); 5] = [
    (Quantity::CapFactor, "hazard, capped against uncapped"),
    (
        Quantity::CapSplit,
        "do capped and uncapped differ in any step: chi-square (n: degrees of freedom)",
    ),
    (Quantity::PerMating, "chance that dirt enters, for each mating in between"),
    (Quantity::PerMonth, "chance that dirt enters, for each month in between"),
    (Quantity::FalseAlarm, "looks failing within an hour after a passing one, nothing between"),
];

/// Factor and test of the cap, chance per mating and month, false alarms.
pub(in crate::report) fn rates(review: &Review, table: &Table) -> PageTable {
    let of_fleet =
        |(quantity, words)| table.rows_of(By::Fleet, quantity).map(move |row| (words, row));
    let rows: Vec<(&str, &Row)> = RATES.into_iter().flat_map(of_fleet).collect();
    PageTable::over(&rows)
        .words("what", |(words, _)| (*words).to_owned())
        .numbers("n", |(_, row)| whole(Some(row.n)))
        .words("estimate", |(_, row)| Amount::of(*row).short(&review.currency))
        .words("interval", |(_, row)| {
            let amount = Amount::of(*row);
            amount.interval_on(&amount.scale(&review.currency))
        })
        .numbers("p", |(_, row)| row.own.p.map_or_else(String::new, probability))
        .words("flags", |(_, row)| flags::words(&row.flags))
        .set("Caps, matings, months, false alarms", NAME)
}

/// Which pairs of visits are passages.
pub(in crate::report) fn passages(review: &Review, table: &Table) -> PageTable {
    let words = |reason: Reason| match reason {
        Reason::Routine => "routine passage: counted here",
        Reason::Prompted => "passage that a fault prompted",
        Reason::NotKnownClean => "not known clean at the end of the earlier visit",
        Reason::CleanedUnseen => "later visit began with a cleaning",
        Reason::FailedOtherwise => "later look failed for a defect or without a finding",
        Reason::ToAnEarlierStage => "later visit at an earlier stage",
        other @ (Reason::NotParted | Reason::Summed | Reason::CleaningAlone) => other.word(),
    };
    PageTable::over(&table.rows_of(By::Reason, Quantity::Passages).collect::<Vec<_>>())
        .words("pair of visits", |row| row.own.reason.map_or("", words).to_owned())
        .numbers("how many", |row| count_or_dash(row.events))
        .words("share", |row| Amount::of(row).short(&review.currency))
        .set("Pairs of visits of one end face", NAME)
}
