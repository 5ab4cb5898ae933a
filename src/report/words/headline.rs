//! The three numbers of the first page, each with its interval and, where there is a trend, the quarter before.

use super::changed::{of_fleet, since};
use super::flags::words;
use super::label::{capitalised, oldest_first};
use super::months::a_year;
use super::number::{Amount, level};
use super::unanswered::reason;
use crate::measures::{AnyRow, Review, Unit};
use crate::measures::{changes, fault_rates, first_pass, skipped_cost};
use crate::report::page::section::counted;

/// One number of the first page.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Headline {
    /// Name for machines.
    pub name: &'static str,
    /// What the number is of.
    pub words: &'static str,
    /// "86.4 %", or why there is none.
    pub value: String,
    /// "95 %: 84.9 to 87.8"; empty without one.
    pub interval: String,
    /// What it rests on, the quarter before, and the change since.
    pub notes: Vec<String>,
    /// The numbers themselves; none where a flag keeps them out of headlines.
    pub amount: Option<Amount>,
    pub unit: Unit,
    pub flags: Vec<&'static str>,
    /// Rows of its changes, where it may headline: since the quarter before, since a year before.
    pub changes: Vec<changes::Row>,
}

impl Headline {
    /// The number in a sentence.
    pub(in crate::report) fn sentence(&self) -> String {
        let interval =
            if self.interval.is_empty() { String::new() } else { format!(" ({})", self.interval) };
        format!("{}: {}{interval}. {}", self.words, self.value, self.notes.join(" "))
    }

    /// Without its number where the records lack what its measure needs.
    fn unless_lacking(self, review: &Review, measure: &str) -> Headline {
        let Some(reason) = reason(review, measure) else { return self };
        let (value, interval) = ("no answer".to_owned(), String::new());
        Headline {
            value,
            interval,
            notes: vec![format!("Because {reason}.")],
            amount: None,
            ..self
        }
    }

    /// With its changes, where it may headline.
    fn with_changes(mut self, review: &Review, quantity: changes::Quantity) -> Headline {
        if self.amount.is_some() {
            self.changes = of_fleet(review, quantity).into_iter().cloned().collect();
        }
        // The page has room for one; the other is in its section and in the findings.
        self.notes.extend(self.changes.first().map(since));
        self
    }
}

/// First pass, fault rate and net saving.
pub(in crate::report) fn headlines(review: &Review) -> Vec<Headline> {
    vec![
        clean_at_first(review)
            .unless_lacking(review, first_pass::NAME)
            .with_changes(review, changes::Quantity::FirstPass),
        fault_rate(review)
            .unless_lacking(review, fault_rates::NAME)
            .with_changes(review, changes::Quantity::FaultRate),
        net_saving(review).unless_lacking(review, skipped_cost::NAME),
    ]
}

fn clean_at_first(review: &Review) -> Headline {
    let table = &review.first_pass;
    let row = table.rows_of(first_pass::By::Fleet, first_pass::Quantity::Clean).next();
    let visits = row.map(|row| format!("{}.", counted(row.n, "routine visit", "routine visits")));
    let name = first_pass::Quantity::Clean.word();
    let named = (name, "end faces clean at the first look", Unit::Share);
    headline(
        review,
        named,
        row,
        [
            visits,
            before(review, table.rows_of(first_pass::By::Quarter, first_pass::Quantity::Clean)),
        ],
    )
}

fn fault_rate(review: &Review) -> Headline {
    use fault_rates::{By, Certainty, Quantity};
    let table = &review.fault_rates;
    let linked = |by| {
        let rows = table.rows_of(by, Quantity::PerMonths);
        rows.filter(|row| row.own.level == Certainty::Linked)
    };
    let row = linked(By::Fleet).next();
    let months =
        row.map(|row| format!("{}.", counted(row.n, "connection-month", "connection-months")));
    let words = "contamination-linked faults per 1,000 connection-months";
    let named = (Quantity::PerMonths.word(), words, Unit::PerThousandMonths);
    headline(review, named, row, [months, before(review, linked(By::Quarter))])
}

fn net_saving(review: &Review) -> Headline {
    let quantity = skipped_cost::Quantity::NetSaving;
    let row = review.skipped_cost.rows_of(skipped_cost::By::Fleet, quantity).next();
    let over = Some(format!("{}.", capitalised(&a_year(review))));
    let named = (quantity.word(), "net saving associated with looking at both ends", Unit::Money);
    headline(review, named, row, [over, ratio(review)])
}

fn headline(
    review: &Review,
    (name, called, unit): (&'static str, &'static str, Unit),
    row: Option<impl AnyRow>,
    notes: [Option<String>; 2],
) -> Headline {
    let firm = row.as_ref().filter(|row| row.is_firm());
    let amount = firm.map(Amount::of).filter(|amount| amount.value.is_some());
    let (value, interval) = match (&amount, &row) {
        (Some(amount), _) => spoken(review, amount),
        (None, None) => ("no records".to_owned(), String::new()),
        (None, Some(row)) if row.is_firm() => ("no estimate".to_owned(), String::new()),
        (None, Some(row)) => ("not firm".to_owned(), words(row.leading().flags)),
    };
    let notes: Vec<String> =
        if row.is_some() { notes.into_iter().flatten().collect() } else { Vec::new() };
    let flags = row.iter().flat_map(|row| row.leading().flags).map(|flag| flag.word()).collect();
    Headline {
        name,
        words: called,
        value,
        interval,
        notes,
        amount,
        unit,
        flags,
        changes: Vec::new(),
    }
}

/// Value and interval; the words of a rate are in what it is called.
fn spoken(review: &Review, amount: &Amount) -> (String, String) {
    let scale = amount.scale(&review.currency);
    let value = match amount.unit {
        Unit::Share | Unit::Money => amount.short(&review.currency),
        _ => amount.value_on(&scale),
    };
    let interval = amount.interval_on(&scale);
    let interval =
        if interval.is_empty() { interval } else { format!("{}: {interval}", level(review.level)) };
    (value, interval)
}

/// The last quarter before the period that the trend has, of rows a quarter each.
fn before<R: AnyRow>(review: &Review, rows: impl Iterator<Item = R>) -> Option<String> {
    let now = review.period.quarter.to_string();
    let time = |row: &R| row.leading().group.time.clone();
    let mut earlier = oldest_first(rows).into_iter().rev();
    let row = earlier.find(|row| time(row).is_some_and(|time| time < now))?;
    if !row.is_firm() || row.leading().estimate.is_none() {
        return None;
    }
    let amount = Amount::of(&row);
    let (value, _) = spoken(review, &amount);
    let interval = amount.interval_on(&amount.scale(&review.currency));
    Some(format!("{}: {value} ({interval}).", time(&row).unwrap_or_default()))
}

/// The fleet's rate ratio of skipped inspections.
fn ratio(review: &Review) -> Option<String> {
    let row = review.skipped_cost.headline();
    let row = row.filter(|row| row.is_firm() && row.estimate.is_some())?;
    Some(format!(
        "Rate of linked faults, skipped against both seen: {} times.",
        Amount::of(row).full(&review.currency)
    ))
}
