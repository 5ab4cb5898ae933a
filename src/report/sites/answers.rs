//! Six answers for a site, each a number, its interval, and how it stands to the fleet.
//!
//! A site stands apart where its whole interval lies on one side of the fleet's value; what skipped looks cost is held
//! against zero, and a change against the quarter before. Nothing is computed here: numbers,
//! intervals and flags are those of the questions' own tables.

use super::doubts::doubts;
use crate::measures::{AnyRow, Review};
use crate::measures::{changes, coverage, fault_rates, first_pass, skipped_cost, trust};
use crate::report::words::changed::{self, FALSE_SHARE};
use crate::report::words::flags::words;
use crate::report::words::number::{Amount, Scale};

/// How a site stands to the fleet in one answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Standing {
    /// Surely worse.
    Worse,
    /// Surely better.
    Better,
    /// Not surely apart.
    Alike,
    /// Too little is known.
    Untold,
}

/// One answer for one site.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Answer {
    /// Table of the question that it is from.
    pub question: &'static str,
    /// The number, without its unit: the heading has it.
    pub value: String,
    /// Its interval; may be empty.
    pub interval: String,
    pub standing: Standing,
    /// What the number needs beside it; may be empty.
    pub note: String,
}

/// What each answer is called, with its unit: those of [`answers`], in their order.
pub(in crate::report) fn headings(review: &Review) -> [String; 6] {
    let since = match review.changes.rows.first() {
        Some(row) => format!("change of first pass since {}", row.own.quarter),
        None => "change".to_owned(),
    };
    [
        "clean at first look, %".to_owned(),
        "mated with an end unseen, %".to_owned(),
        "linked faults per 1,000 connection-months".to_owned(),
        format!("net cost of skipped looks, {}", cost_scale(review).unit),
        format!("{since}, points"),
        "doubts about its records".to_owned(),
    ]
}

/// The answers for one site; `scale` is [`cost_scale`], which all sites share.
pub(super) fn answers(review: &Review, site: &str, scale: &Scale) -> [Answer; 6] {
    let is_site = |row: &dyn AnyRow| row.leading().group.site.as_deref() == Some(site);
    let clean = review.first_pass.rows_of(first_pass::By::Site, first_pass::Quantity::Clean);
    let clean = { clean }.find(|row| is_site(row));
    let skipped = skipped_rows(review, coverage::By::Site).find(|row| is_site(row));
    let faults = fault_rows(review, fault_rates::By::Site).find(|row| is_site(row));
    [
        apart(first_pass::NAME, clean, fleet_clean(review), true),
        apart(coverage::NAME, skipped, skipped_rows(review, coverage::By::Fleet).next(), false),
        apart(fault_rates::NAME, faults, fault_rows(review, fault_rates::By::Fleet).next(), false),
        cost(review, site, scale),
        change(review, site),
        doubted(review, site),
    ]
}

/// The same six of the whole fleet: what sites are compared with.
pub(in crate::report) fn of_fleet(review: &Review) -> [Answer; 6] {
    let saving = review
        .skipped_cost
        .rows_of(skipped_cost::By::Fleet, skipped_cost::Quantity::NetSaving)
        .find(|row| row.is_firm());
    let scale = cost_scale(review);
    let cost =
        saving.map(|row| (Amount::of(row).value_on(&scale), Amount::of(row).interval_on(&scale)));
    let (value, interval) = cost.unwrap_or_else(|| ("–".to_owned(), String::new()));
    [
        plain(first_pass::NAME, fleet_clean(review)),
        plain(coverage::NAME, skipped_rows(review, coverage::By::Fleet).next()),
        plain(fault_rates::NAME, fault_rows(review, fault_rates::By::Fleet).next()),
        Answer {
            question: skipped_cost::NAME,
            value,
            interval,
            standing: Standing::Alike,
            note: String::new(),
        },
        of_change(changes_of(review, None).into_iter().next()),
        Answer {
            question: trust::NAME,
            value: "–".to_owned(),
            interval: String::new(),
            standing: Standing::Alike,
            note: String::new(),
        },
    ]
}

fn fleet_clean(review: &Review) -> Option<&first_pass::Row> {
    review.first_pass.rows_of(first_pass::By::Fleet, first_pass::Quantity::Clean).next()
}

fn skipped_rows(review: &Review, by: coverage::By) -> impl Iterator<Item = &coverage::Row> {
    let rows = review.coverage.rows_of(by, coverage::Quantity::Skipped);
    rows.filter(|row| row.own.base == Some(coverage::Base::Known))
}

fn fault_rows(review: &Review, by: fault_rates::By) -> impl Iterator<Item = &fault_rates::Row> {
    let rows = review.fault_rates.rows_of(by, fault_rates::Quantity::PerMonths);
    rows.filter(|row| row.own.level == fault_rates::Certainty::Linked)
}

/// A row without a comparison.
fn plain<R: AnyRow>(question: &'static str, row: Option<R>) -> Answer {
    let firm = row.filter(|row| row.is_firm() && row.leading().estimate.is_some());
    let Some(row) = firm else { return untold(question, String::new()) };
    let amount = Amount::of(&row);
    let scale = amount.scale("");
    Answer {
        question,
        value: amount.value_on(&scale),
        interval: amount.interval_on(&scale),
        standing: Standing::Alike,
        note: String::new(),
    }
}

fn untold(question: &'static str, note: String) -> Answer {
    let (value, interval) = ("–".to_owned(), String::new());
    Answer { question, value, interval, standing: Standing::Untold, note }
}

/// A site's row beside the fleet's.
fn apart<R: AnyRow>(
    question: &'static str,
    row: Option<R>,
    fleet: Option<R>,
    more_is_better: bool,
) -> Answer {
    let flags = row.as_ref().map(|row| words(row.leading().flags)).unwrap_or_default();
    let fleet = fleet.and_then(|row| row.leading().estimate);
    let ends = row.as_ref().map(|row| (row.leading().low, row.leading().high));
    let answer = plain(question, row);
    if answer.standing == Standing::Untold {
        return Answer { note: flags, ..answer };
    }
    let standing = match (fleet, ends) {
        (Some(fleet), Some((Some(low), _))) if low > fleet => of_side(more_is_better),
        (Some(fleet), Some((_, Some(high)))) if high < fleet => of_side(!more_is_better),
        _ => Standing::Alike,
    };
    Answer { standing, note: flags, ..answer }
}

fn of_side(is_better: bool) -> Standing {
    if is_better { Standing::Better } else { Standing::Worse }
}

/// One scale for what all places cost.
pub(super) fn cost_scale(review: &Review) -> Scale {
    use skipped_cost::{By, Quantity};
    let rows = [By::Fleet, By::SiteStage].into_iter();
    let rows = rows.flat_map(|by| review.skipped_cost.rows_of(by, Quantity::NetSaving));
    let amounts: Vec<Amount> = rows.filter(|row| row.is_firm()).map(Amount::of).collect();
    Scale::for_all(&amounts, crate::measures::Unit::Money, &review.currency)
}

/// What skipped looks cost at the stage of the site where they cost most.
fn cost(review: &Review, site: &str, scale: &Scale) -> Answer {
    let rows = review
        .skipped_cost
        .rows_of(skipped_cost::By::SiteStage, skipped_cost::Quantity::NetSaving)
        .filter(|row| row.group.site.as_deref() == Some(site));
    let firm = rows.filter(|row| row.is_firm() && row.own.rank.is_some());
    let Some(row) = firm.min_by_key(|row| row.own.rank) else {
        return untold(skipped_cost::NAME, "no stage of it can be ranked".to_owned());
    };
    let amount = Amount::of(row);
    let standing = match (row.low, row.high) {
        (Some(low), _) if low > 0.0 => Standing::Worse,
        (_, Some(high)) if high < 0.0 => Standing::Better,
        _ => Standing::Alike,
    };
    Answer {
        question: skipped_cost::NAME,
        value: amount.value_on(scale),
        interval: amount.interval_on(scale),
        standing,
        note: format!(
            "at {}, its dearest stage; the fleet's is of all places together",
            row.group.stage.as_deref().unwrap_or("–")
        ),
    }
}

/// Changes of a site, or of the fleet, since the quarter before, first pass first, the others by how sure they are.
fn changes_of<'r>(review: &'r Review, site: Option<&str>) -> Vec<&'r changes::Row> {
    let by = if site.is_some() { changes::By::Site } else { changes::By::Fleet };
    let rows = review.changes.rows.iter();
    let rows =
        rows.filter(|row| row.by == by && row.own.against == changes::Against::QuarterBefore);
    let rows = rows.filter(|row| site.is_none() || row.group.site.as_deref() == site);
    let mut rows: Vec<&changes::Row> = rows.filter(|row| row.is_firm()).collect();
    rows.sort_by(|a, b| {
        let first = |row: &changes::Row| row.quantity != changes::Quantity::FirstPass;
        first(a).cmp(&first(b)).then(a.own.p.total_cmp(&b.own.p))
    });
    rows
}

/// The change of first pass; the mark and the note also tell of other changes that could be shown.
fn change(review: &Review, site: &str) -> Answer {
    let rows = changes_of(review, Some(site));
    let first = rows.iter().find(|row| row.quantity == changes::Quantity::FirstPass).copied();
    let shown: Vec<&&changes::Row> =
        rows.iter().filter(|row| row.own.q.is_some_and(|q| q <= FALSE_SHARE)).collect();
    let mut answer = of_change(first);
    if shown.is_empty() {
        return answer;
    }
    let is_worse = |row: &changes::Row| {
        (row.own.value < row.own.value_before)
            == matches!(row.quantity, changes::Quantity::FirstPass | changes::Quantity::FirstCycle)
    };
    answer.standing = of_side(!shown.iter().any(|row| is_worse(row)));
    let said: Vec<String> = shown.iter().map(|row| changed::sentence(row)).collect();
    answer.note = said.join("; ");
    answer
}

fn of_change(row: Option<&changes::Row>) -> Answer {
    let first = row.filter(|row| row.quantity == changes::Quantity::FirstPass);
    let answer = plain(changes::NAME, first);
    match answer.standing {
        Standing::Untold => answer,
        _ => Answer { note: "no change could be shown".to_owned(), ..answer },
    }
}

fn doubted(review: &Review, site: &str) -> Answer {
    let doubts = doubts(review, site);
    let standing = if doubts.is_empty() { Standing::Alike } else { Standing::Worse };
    let value = if doubts.is_empty() { "none".to_owned() } else { doubts.len().to_string() };
    let (question, interval) = (trust::NAME, String::new());
    Answer { question, value, interval, standing, note: doubts.join(" ") }
}

impl Answer {
    /// How the site stands, in words: to the fleet, to zero, or to the quarter before, as the answer has it; may be empty.
    pub(in crate::report) fn stands(&self) -> &'static str {
        match (self.question, self.standing) {
            (trust::NAME, Standing::Worse) => "doubted",
            (trust::NAME, _) => "",
            (_, Standing::Untold) => "too little known",
            (skipped_cost::NAME, Standing::Worse) => "surely above zero",
            (skipped_cost::NAME, Standing::Better) => "surely below zero",
            (skipped_cost::NAME, Standing::Alike) => "not surely apart from zero",
            (changes::NAME, Standing::Worse) => "got worse",
            (changes::NAME, Standing::Better) => "got better",
            // Its note says so.
            (changes::NAME, Standing::Alike) => "",
            (_, Standing::Worse) => "worse than the fleet",
            (_, Standing::Better) => "better than the fleet",
            (_, Standing::Alike) => "not surely apart",
        }
    }
}
