//! Q9: what has really changed since last quarter, and since the same quarter a year before.

mod picture;

use super::NO_RECORDS;
use crate::measures::changes::{By, NAME, Quantity, Row, Table};
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::page::section::{Section, counted};
use crate::report::words::changed::{
    Comparison, comparisons, interval_words, named, sentence, value_words,
};
use crate::report::words::flags::explained;
use crate::report::words::number::{probability_or_dash, whole};
use picture::changes;

/// Changes named in the finding, a quarter.
const MOST_NAMED: usize = 3;
/// How it is counted. Shares of false lists and of intervals that miss are those simulated in
/// `tests/reference/proof.csv`.
const METHOD: &str = "Shares: difference with limits put together (Newcombe 1998, method 10) from the exact ones of both quarters, which \
    are those of first pass: on units divided by a design effect (Rao and Scott 1992; Korn and Graubard 1998; work \
    orders for first looks, site-weeks for cycles and matings, longer blocks of a site's time where luck lasts longer), drawn towards that of the other rows and widened for \
    the few clusters that the rarer outcome lies in: at least 95 in a hundred hold from 8 work orders on. Rates: ratio with the exact conditional \
    interval, mid-P (Rothman and Greenland 1998), on faults and time divided by how much more the faults of a site's \
    weeks, or of longer blocks where luck lasts longer, scatter than chance. The p value is one less the level at which the interval would end at no change, so that \
    both say the same. The fleet's own changes with one quarter are a list, all other comparisons that no flag keeps out another: q is the share of false ones to be \
    expected down to there (Benjamini and Hochberg 1995), and a change is named where q is at most 0.05. Where luck of a \
    site lasts months, one list in ten names a change though nothing but luck has changed.";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.changes;
    let all = comparisons(review);
    let mut tables = Vec::new();
    for comparison in &all {
        tables.extend([Unit::Difference, Unit::Ratio].map(|unit| listed(review, comparison, unit)));
    }
    Section {
        id: NAME,
        question: "What has really changed since last quarter?",
        finding: finding(review, &all),
        // A picture whose title says that nothing could be shown gives way to the sentence above it.
        pictures: all
            .iter()
            .filter(|one| !one.changed.is_empty())
            .filter_map(|one| changes(review, one, headed(one)))
            .collect(),
        tables,
        method: METHOD.to_owned(),
        doubts: doubts(table),
    }
}

fn finding(review: &Review, all: &[Comparison]) -> String {
    if all.is_empty() && review.first_pass.rows.is_empty() {
        return NO_RECORDS.to_owned();
    }
    if all.is_empty() {
        return "There is no earlier quarter to compare this one with.".to_owned();
    }
    let sentences = all.iter().map(|comparison| format!("{}.", headed(comparison)));
    sentences.collect::<Vec<_>>().join(" ")
}

/// How large a change of the fleet's first pass there may have been all the same: "; clean at the first look may have moved by
/// −0.6 to +2.4 points".
fn showable(comparison: &Comparison) -> String {
    let mut rows = comparison.others.iter();
    let fleet = rows.find(|row| row.by == By::Fleet && row.quantity == Quantity::FirstPass);
    fleet.map_or_else(String::new, |row| {
        format!("; clean at the first look may have moved by {}", interval_words(row))
    })
}

/// "Since 2026-Q1, 2 of 41 comparisons changed by more than chance: ...", without a full stop.
fn headed(comparison: &Comparison) -> String {
    let (changed, listed) =
        (comparison.changed.len(), comparison.changed.len() + comparison.others.len());
    let since = format!("Since {}", comparison.quarter);
    if listed == 0 {
        let all = counted(comparison.flagged.len() as f64, "comparison rests", "comparisons rest");
        return format!("{since} nothing can be told: {all} on too little");
    }
    let all = counted(listed as f64, "comparison", "comparisons");
    if changed == 0 {
        return format!("{since} no change could be shown in {all}{}", showable(comparison));
    }
    let named: Vec<String> =
        comparison.changed.iter().take(MOST_NAMED).map(|row| sentence(row)).collect();
    let more = changed.saturating_sub(MOST_NAMED);
    let rest =
        if more > 0 { format!("; and {} more", whole(Some(more as f64))) } else { String::new() };
    format!(
        "{since}, {} of {all} changed by more than chance: {}{rest}",
        whole(Some(changed as f64)),
        named.join("; ")
    )
}

fn doubts(table: &Table) -> Vec<String> {
    let mut doubts = vec![
        "Many comparisons overlap: a change at one stage is in its site, its family and the fleet too. They are one change \
         seen from several sides."
            .to_owned(),
        "Seasons change dirt as well: a change since last quarter that is none since the same quarter a year before may \
         be the season's."
            .to_owned(),
        "A change of criteria, of instruments or of what gets recorded looks like a change of dirt, and so does a change \
         in how much work each stage, family and site has."
            .to_owned(),
    ];
    doubts.extend(explained(&table.rows));
    if table.rows.is_empty() {
        doubts.clear();
    }
    doubts
}

/// The rows of one kind, the surest first, the flagged last.
fn listed(review: &Review, comparison: &Comparison, unit: Unit) -> PageTable {
    let rows: Vec<&Row> = comparison.rows().filter(|row| row.unit() == unit).collect();
    let (kind, n, events, estimate) = match unit {
        Unit::Ratio => ("Rates", "connection-months", "faults", "ratio"),
        _ => ("Shares", "n", "events", "change"),
    };
    let (now, before) = (review.period.quarter, comparison.quarter);
    PageTable::over(&rows)
        .words("what and where", |row| named(row))
        .n(n)
        .events(events)
        .estimates(review, estimate)
        .numbers(&format!("{n} in {before}"), |row| whole(Some(row.own.n_before)))
        .numbers(&format!("{events} in {before}"), |row| whole(Some(row.own.events_before as f64)))
        .numbers(&format!("in {before}"), |row| value_words(row, row.own.value_before))
        .numbers(&format!("in {now}"), |row| value_words(row, row.own.value))
        .numbers("p", |row| probability_or_dash(Some(row.own.p)))
        .numbers("q", |row| probability_or_dash(row.own.q))
        .flags()
        .set(&format!("{kind}, {now} against {before}, the surest first"), NAME)
}
