//! 5.11, Q11: which end faces, leads and connections somebody should look at first.
//!
//! Three lists, each row with its reason, what to do and what that is expected to save: end faces left
//! failing, carriers not cleaned since, matings in force made without both ends seen. Within a list
//! rows stand by what they save: those whose whole interval lies above zero first, then those whose
//! interval reaches it, then flagged ones, which have no rank. Equal savings: the latest first, then
//! by name. Savings are less the price of the work, and nothing is advised whose saving is negative. Rows
//! of all lists that are worth doing now have a place in one order besides.

mod carriers;
mod declared;
mod faces;
mod item;
mod limit;
mod looked_later;
mod matings;
mod risk;

pub use declared::*;

use std::cmp::Ordering;

use self::carriers::carriers;
use crate::derive::DeriveError;
use crate::measures::cycles;
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use faces::left_failing;
use item::{Item, local};
use matings::unseen_matings;
use risk::Risks;

/// What every saving is reckoned by; the files of the three lists say how.
const METHOD: &str = "expected saving, outermost limits of its parts";

/// Tables that the worklist reads besides the counts.
pub(in crate::measures) struct Sources<'a> {
    pub cycles: &'a cycles::Table,
    pub skipped: &'a crate::measures::skipped_cost::Table,
    pub carriers: &'a crate::measures::carriers::Table,
}

/// The table of the worklist.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn worklist(
    evidence: &Evidence,
    from: &Sources,
) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let mut risks = Risks::of(evidence, from.skipped)?;
    let candidates = &evidence.derived.counts.worklist;
    let faces = left_failing(evidence, from.cycles, &mut risks)?;
    let carriers = carriers(evidence, from.carriers, from.skipped)?;
    let matings = unseen_matings(evidence, &mut risks)?;
    let all_carriers = carriers.len() as i64;
    for (list, items, all) in [
        (List::LeftFailing, faces, candidates.left.seen() as i64),
        (List::Carrier, carriers, all_carriers),
        (List::UnseenMating, matings, candidates.unseen.seen() as i64),
    ] {
        add(evidence, list, items, all, &mut table);
    }
    overall(&mut table);
    Ok(table)
}

/// Numbers the rows of all lists that are worth doing now: those whose whole interval lies above zero first, each part
/// by what it saves.
fn overall(table: &mut Table) {
    let worth = |row: &Row| {
        let now = row.own.rank.is_some() && row.own.when == Some(When::Now);
        row.estimate.filter(|saving| now && *saving > 0.0)
    };
    let mut rows: Vec<&mut Row> =
        table.rows.iter_mut().filter(|row| worth(row).is_some()).collect();
    let sure = |row: &Row| row.low.is_some_and(|low| low > 0.0);
    rows.sort_by(|a, b| {
        let saving = |row: &Row| row.estimate.unwrap_or(0.0);
        sure(b)
            .cmp(&sure(a))
            .then(saving(b).total_cmp(&saving(a)))
            .then_with(|| a.own.list.cmp(&b.own.list))
            .then(a.own.rank.cmp(&b.own.rank))
    });
    for (row, place) in rows.into_iter().zip(1..) {
        row.own.overall = Some(place);
    }
}

/// Adds one list: how many there are in all, then its rows.
fn add(evidence: &Evidence, list: List, items: Vec<Item>, all: i64, table: &mut Table) {
    let mut rows: Vec<(Class, Row)> = items.into_iter().map(|item| row(evidence, item)).collect();
    rows.sort_by(order);
    rows.truncate(evidence.rules().worklist_rows as usize);
    let own = Own { candidates: Some(all), ..Own::with(list) };
    let total = (By::List, Quantity::Candidates);
    let total = Row::figure(total.0, Group::default(), total.1, all as f64, "count", own);
    table.rows.push(Row { n: rows.len() as f64, ..total });
    for ((class, mut row), place) in rows.into_iter().zip(1..) {
        // Those without a rank stand last.
        row.own.rank = (class != Class::Unranked).then_some(place);
        table.rows.push(row);
    }
}

/// How far a row may be ranked, the surest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Class {
    /// Its whole interval lies above zero.
    Sure,
    /// Its interval reaches zero.
    Firm,
    /// Flagged, or without a saving.
    Unranked,
}

/// A row and its class.
fn row(evidence: &Evidence, item: Item) -> (Class, Row) {
    let Item { group, since, saving, n, events, flags, own } = item;
    let group = Group { time: since.and_then(|at| local(evidence, at)), ..group };
    let cover = evidence.guessed_cover(group.site.as_deref());
    let value = saving.map_or(f64::NAN, |saving| saving.value.round());
    let row = Row::figure(By::Item, group, Quantity::ExpectedSaving, value, METHOD, own);
    let (low, high) =
        (saving.map(|saving| saving.low.round()), saving.map(|saving| saving.high.round()));
    let row = Row { n, events: Some(events), low, high, ..row }.flagged(flags).flagged(cover);
    let class = match saving {
        Some(_) if !row.is_firm() => Class::Unranked,
        Some(saving) if saving.low > 0.0 => Class::Sure,
        Some(_) => Class::Firm,
        None => Class::Unranked,
    };
    (class, row)
}

fn order((class, a): &(Class, Row), (other, b): &(Class, Row)) -> Ordering {
    let saving = |row: &Row| row.estimate.unwrap_or(f64::NEG_INFINITY);
    class
        .cmp(other)
        .then_with(|| saving(b).total_cmp(&saving(a)))
        .then_with(|| b.group.time.cmp(&a.group.time))
        .then_with(|| a.group.cmp(&b.group))
        .then_with(|| a.own.end_face.cmp(&b.own.end_face))
        .then_with(|| a.own.partner.cmp(&b.own.partner))
}
