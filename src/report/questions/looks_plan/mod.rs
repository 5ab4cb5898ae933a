//! Q13: with the minutes we have, where should we look, and where is a sample enough?

mod picture;
mod tables;

use super::NO_RECORDS;
use crate::measures::Review;
use crate::measures::looks_plan::{Advice, NAME, Table};
use crate::report::page::section::{Section, counted};
use crate::report::words::flags::explained;
use crate::report::words::label::label;
use crate::report::words::number::{Amount, whole};
use picture::staircase;
use tables::{self as plan_tables, advised};

/// What stands above any figure of this page.
const RULES_FIRST: &str = "The operator's own rules, and those of the makers of what is connected, come first: where they ask for every end to be \
    looked at, every end is looked at, whatever it saves.";

const METHOD: &str = "What one more look saves is the cost of faults associated with skipped looks in the cell (site, stage, family), for each end that nobody saw, \
    less the price of the look with the cleanings and rejects that it brings, in the draws of skipped cost: ratios drawn towards each other, \
    a site's weeks (longer blocks where luck lasts longer) resampled. Minutes are a look with the cleanings that it brings and the looks after these. They are shared out by the saving of a minute, the largest \
    first (Dantzig 1957), chosen by the mean over the draws and not by the best guess; minutes stay at their site unless the settings say that they travel. A cell of which \
    too little is known keeps its looks; another loses half of them at most. Where looking at everything costs more than it saves with a \
    probability of 0.95 or more, a sample takes its place: the smallest number to look at, and of dirty ones among them, with an alarm in at most 10 % of samples \
    at the present share of dirty ends, and in at least 90 % at the share at which looking at everything pays (exact, binomial); none where it would be more than a year's looks. Lots \
    on receipt: the listed plans of ISO 2859-1 (as MIL-STD-105E), single sampling, general level II; a supplier's quarters are its lots.";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.looks_plan;
    Section {
        id: NAME,
        question: "With the minutes we have, where should we look?",
        finding: finding(review, table),
        pictures: staircase(review).into_iter().collect(),
        tables: vec![
            plan_tables::cells(review),
            plan_tables::samples(review),
            plan_tables::suppliers(review),
        ],
        method: METHOD.to_owned(),
        doubts: doubts(table),
    }
}

fn finding(review: &Review, table: &Table) -> String {
    let Some(gain) = table.gain() else { return NO_RECORDS.to_owned() };
    if !gain.is_firm() {
        return "For no cell is enough known to say that its minutes should go elsewhere; look as before.".to_owned();
    }
    let samples = advised(table, Advice::Sample).count();
    let most = advised(table, Advice::More).filter(|row| row.own.rank.is_some());
    let most = most.min_by_key(|row| row.own.rank);
    let first = most.map_or_else(String::new, |row| {
        format!(
            ", first to {} ({} looks a month, not {})",
            label(row),
            whole(row.own.looks_planned),
            whole(row.own.looks_now)
        )
    });
    let sample = if samples > 0 {
        format!(
            "; in {} a sample would be enough, if the operator's own rules allow one",
            counted(samples as f64, "cell", "cells")
        )
    } else {
        String::new()
    };
    if gain.estimate.is_some_and(|gain| gain <= 0.0) || most.is_none() && samples == 0 {
        return "The minutes are where they should be, as far as these records can tell; look as before.".to_owned();
    }
    format!(
        "Shared out by what they save, the minutes for looks would save {} a month more{first}{sample}.",
        Amount::of(gain).full(&review.currency)
    )
}

fn doubts(table: &Table) -> Vec<String> {
    if table.rows.is_empty() {
        return Vec::new();
    }
    let mut doubts = vec![
        RULES_FIRST.to_owned(),
        "At stages without light no fault can show; nothing here is about them, and nothing speaks for looking less there."
            .to_owned(),
        "A saving is what skipped looks are associated with: were those who looked more careful in other ways, more looks would save less."
            .to_owned(),
        "Every end is taken to save as much as the next of its cell; where the dirtiest are looked at first, fewer looks cost less than this says, and more save less."
            .to_owned(),
    ];
    let unknown = table.cells().filter(|row| row.estimate.is_none()).count();
    if unknown > 0 {
        doubts.push(format!(
            "In {} too few faults are known to say what a look saves; there everything stays as it is. They are in tables/{NAME}.csv.",
            counted(unknown as f64, "cell", "cells")
        ));
    }
    doubts.extend(explained(&table.rows));
    doubts
}
