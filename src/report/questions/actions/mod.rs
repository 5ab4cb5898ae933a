//! Q12: did what was done work?

mod picture;
mod tables;

use crate::measures::actions::{NAME, Reading, Reason, Row, Table};
use crate::measures::{Flag, Review};
use crate::report::page::section::Section;
use crate::report::words::action::{associated, named};
use crate::report::words::flags::explained;
use crate::report::words::number::{Amount, level, probability};
use picture::by_month;
use tables as action_tables;

/// Actions named in the finding.
const MOST_NAMED: usize = 3;

const METHOD: &str = "Every month of a site is taken as observed less what the fleet's shares by stage and family lead to \
    expect of the same work, so that a change of mix is no change. Sites at which the action began are compared with those where it \
    had not begun or never did, group by group of start, each month since with the year before the start (Callaway and Sant'Anna 2021); \
    the month of the start belongs to neither. Shares are compared by differences, faults by ratios of observed over expected sums, by \
    the month of the mating and only where the whole follow-up is over. Certainty: the starts are laid over the sites in every other way (or \
    4,999 drawn), each difference over its spread by the sizes of the sites; p is the share of ways that lie as far out, the interval \
    holds the values that are not so rejected. With few sites no small p can come out; then the interval has the level that they \
    allow. Where all sites began at once only the fleet's own months are left: a regression with a break in level and slope, \
    quasi-Poisson, with the correlation of neighbouring months (Newey and West 1987).";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.actions;
    Section {
        id: NAME,
        question: "Did what was done work?",
        finding: finding(review, table),
        pictures: by_month(review).into_iter().collect(),
        tables: vec![
            action_tables::leading(review),
            action_tables::doubts(review),
            action_tables::worth(review),
        ],
        method: METHOD.to_owned(),
        doubts: doubts(table),
    }
}

fn finding(review: &Review, table: &Table) -> String {
    let leading: Vec<&Row> = table.leading_rows().collect();
    if leading.is_empty() {
        return "The settings name nothing that was done ([[action]]), so nothing is judged."
            .to_owned();
    }
    let more = leading.len().saturating_sub(MOST_NAMED);
    let mut said: Vec<String> =
        leading.iter().take(MOST_NAMED).map(|row| sentence(review, table, row)).collect();
    if more > 0 {
        said.push(format!("{more} more in the table."));
    }
    said.join(" ")
}

fn sentence(review: &Review, table: &Table, row: &Row) -> String {
    let name = named(row);
    if let Some(reason) = row.own.reason {
        return format!("{name}: {}.", without(reason));
    }
    if row.flags.contains(&Flag::ChosenWhenBad) {
        let rest = table.reading(row, Reading::WithoutQuarter).map_or_else(
            || "too little is left to compare".to_owned(),
            |other| associated(review, other),
        );
        return format!(
            "{name}: begun after a bad quarter, so part of what followed is the way back; without that quarter {rest}."
        );
    }
    let doubt = if row.flags.contains(&Flag::NotParallel) {
        "; the months before went another way already, so this is no finding"
    } else if row.flags.contains(&Flag::NoComparison) {
        "; all sites began at once, so whatever else began then is in it"
    } else {
        ""
    };
    let worth = table.worth(row).filter(|_| row.is_firm()).map_or_else(String::new, |worth| {
        let cost = Amount::money(row.own.cost).short(&review.currency);
        format!("; worth {} so far, at a cost of {cost}", Amount::of(worth).full(&review.currency))
    });
    format!("{name}: {}{doubt}{worth}.", associated(review, row))
}

fn without(reason: Reason) -> &'static str {
    match reason {
        Reason::NotBegun => "not begun, or its first whole month is not over",
        Reason::NothingBefore => "no records of these places from before it began",
        Reason::NothingSince => {
            "no records of these places since it began that could be followed to their end"
        }
        Reason::TooShort => {
            "it began at all sites at once, with fewer than four months on one side"
        }
    }
}

fn doubts(table: &Table) -> Vec<String> {
    if table.rows.is_empty() {
        return Vec::new();
    }
    let mut doubts = vec![
        "Sites are seldom chosen by lot: what made somebody begin there may itself have moved them. Figures say what goes with \
         the action, not what it did."
            .to_owned(),
        "Other things that began at the same sites in the same months are in the estimate; those that the settings name are listed."
            .to_owned(),
    ];
    let smallest = table.leading_rows().filter_map(|row| Some((row, row.own.smallest_p?)));
    for (row, p) in smallest.filter(|(_, p)| *p > 0.05) {
        doubts.push(format!(
            "{}: with {} of {} sites no p below {} can come out; its interval has the level {}.",
            named(row),
            row.own.sites.unwrap_or(0),
            row.own.sites.unwrap_or(0) + row.own.other_sites.unwrap_or(0),
            probability(p),
            level(row.own.interval_level.unwrap_or(1.0 - p)),
        ));
    }
    doubts.extend(explained(&table.rows));
    doubts
}
