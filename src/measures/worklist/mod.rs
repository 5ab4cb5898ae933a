//! 5.11, Q11: which end faces, leads and connections somebody should look at first.
//!
//! Three lists, each row with its reason, what to do and what that is expected to save: end faces left
//! failing, carriers not cleaned since, matings in force made without both ends seen. Within a list
//! rows stand by what they save: those whose whole interval lies above zero first, then those whose
//! interval reaches it, then flagged ones, which have no rank. Equal savings: the latest first, then
//! by name.

mod carriers;
mod faces;
mod limit;
mod matings;
mod risk;

use std::cmp::Ordering;

use chrono::DateTime;

use crate::derive::{DeriveError, Key};
use crate::measures::cycles;
use crate::measures::evidence::Evidence;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use carriers::carriers;
use faces::left_failing;
use matings::unseen_matings;
use risk::{Between, Risks};

const OWN: &[&str] = &[
    "list",
    "rank",
    "end_face",
    "partner",
    "service",
    "what_to_do",
    "reason",
    "finding",
    "zone",
    "cycles",
    "remaining_days",
    "work_cost",
    "mean_fault_cost",
    "rates_of",
    "rates_as",
    "cost_of",
    "candidates",
];
/// What every saving is reckoned by; the files of the three lists say how.
const METHOD: &str = "expected saving, outermost limits of its parts";

/// Tables that the worklist reads beside the counts.
pub(in crate::measures) struct Sources<'a> {
    pub cycles: &'a cycles::Table,
    pub skipped: &'a Table,
    pub carriers: &'a Table,
}

/// One row in the making.
pub(in crate::measures) struct Item {
    /// Site, stage, family, coverage.
    pub group: Group,
    /// When it came to be so, microseconds UTC.
    pub since: Option<i64>,
    /// Minor units; none where these records cannot tell.
    pub saving: Option<Between>,
    pub n: f64,
    pub events: i64,
    pub flags: Vec<crate::measures::flag::Flag>,
    /// The measure's own values but list and rank.
    pub own: Vec<(&'static str, Value)>,
}

/// Text of an own value.
pub(in crate::measures) fn text(word: impl Into<String>) -> Value {
    Value::Text(word.into())
}

/// Minor units as an own value.
pub(in crate::measures) fn money(amount: f64) -> Value {
    Value::Money(amount.round() as i64)
}

/// The name of an end face as records have it; its key where no record tells it any more.
pub(in crate::measures) fn face_name(evidence: &Evidence, key: Key) -> Value {
    match evidence.derived.face_names.get(&key) {
        Some(name) => Value::Text(name.to_string()),
        None if key.is_known() => Value::Text(format!("{:016x}", key.high)),
        None => Value::Missing,
    }
}

/// The table of the worklist.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn worklist(
    evidence: &Evidence,
    from: &Sources,
) -> Result<Table, DeriveError> {
    let mut table = Table::empty("worklist", OWN);
    let mut risks = Risks::of(evidence, from.skipped)?;
    let candidates = &evidence.derived.counts.worklist;
    let faces = left_failing(evidence, from.cycles, &mut risks)?;
    let (listed, all) = carriers(evidence, from)?;
    let matings = unseen_matings(evidence, &mut risks)?;
    for (list, items, all) in [
        ("left-failing", faces, candidates.left.seen() as i64),
        ("carrier", listed, all),
        ("unseen-mating", matings, candidates.unseen.seen() as i64),
    ] {
        add(evidence, list, items, all, &mut table);
    }
    Ok(table)
}

/// Adds one list: how many there are in all, then its rows.
fn add(evidence: &Evidence, list: &'static str, items: Vec<Item>, all: i64, table: &mut Table) {
    let mut rows: Vec<(usize, Row)> = items.into_iter().map(|item| row(evidence, item)).collect();
    rows.sort_by(order);
    rows.truncate(evidence.rules().worklist_rows as usize);
    let mut total =
        Row::figure("list", Group::default(), "candidates", Unit::Count, all as f64, "count");
    total.n = rows.len() as f64;
    total = total.with(table.fill(&[("list", text(list)), ("candidates", Value::Count(all))]));
    table.rows.push(total);
    let place = |name: &str| table.own.iter().position(|own| *own == name);
    let (list_at, rank_at) = (place("list"), place("rank"));
    let mut rank = 0;
    for (class, mut row) in rows {
        if let Some(at) = list_at {
            row.own[at] = text(list);
        }
        if let Some(at) = rank_at.filter(|_| class < FLAGGED) {
            rank += 1;
            row.own[at] = Value::Count(rank);
        }
        table.rows.push(row);
    }
}

/// Class of rows without a rank.
const FLAGGED: usize = 2;

/// A row and its class: 0 surely above zero, 1 firm, 2 flagged or without a saving.
fn row(evidence: &Evidence, item: Item) -> (usize, Row) {
    let mut group = item.group;
    group.time = item.since.and_then(|at| local(evidence, at));
    let site = group.site.clone();
    let own = Table::empty("worklist", OWN).fill(&item.own);
    let saving = item.saving;
    let row = Row {
        n: item.n,
        events: Some(item.events),
        low: saving.map(|saving| saving.low.round()),
        high: saving.map(|saving| saving.high.round()),
        ..Row::figure(
            "site+stage+family",
            group,
            "expected-saving",
            Unit::Money,
            saving.map_or(f64::NAN, |saving| saving.value.round()),
            METHOD,
        )
    };
    let row = row.with(own).flagged(item.flags).flagged(evidence.guessed_cover(site.as_deref()));
    let class = match saving {
        Some(_) if !row.is_firm() => FLAGGED,
        Some(saving) if saving.low > 0.0 => 0,
        Some(_) => 1,
        None => FLAGGED,
    };
    (class, row)
}

fn order((class, a): &(usize, Row), (other, b): &(usize, Row)) -> Ordering {
    let saving = |row: &Row| row.estimate.unwrap_or(f64::NEG_INFINITY);
    let name = |row: &Row| format!("{:?}", &row.own);
    class
        .cmp(other)
        .then_with(|| saving(b).total_cmp(&saving(a)))
        .then_with(|| b.group.time.cmp(&a.group.time))
        .then_with(|| a.group.cmp(&b.group))
        .then_with(|| name(a).cmp(&name(b)))
}

/// An instant in the fleet's zone: "2026-05-11 09:30".
pub(in crate::measures) fn local(evidence: &Evidence, at: i64) -> Option<String> {
    let zone = evidence.derived.calendar.zone;
    let at = DateTime::from_timestamp_micros(at)?;
    Some(at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string())
}
