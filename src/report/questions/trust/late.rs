//! How late tickets come after the repair, and whether the headline hangs on it.

use super::part::{Doubt, MOST_ROWS, Part};
use crate::derive::Basis;
use crate::measures::trust::{NAME, Quantity, Row, Table};
use crate::measures::{Flag, Review};
use crate::report::page::page_table::PageTable;
use crate::report::words::number::{Amount, whole};

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    let doubts =
        table.quantity(Quantity::TicketWindow).filter_map(longer).chain(unsure(review, table));
    Part { tables: vec![windows(table), ratios(review, table)], doubts: doubts.collect() }
}

/// A source whose tickets show that they come later than usual.
fn longer(row: &Row) -> Option<Doubt> {
    let shown = match row.own.basis? {
        Basis::NamesReplaced => "they name connections that had been replaced before",
        Basis::ClearedBefore => "they were cleared before the connection they attach to was made",
        Basis::Unexplained => {
            "far more of them follow replacements that no earlier ticket explains"
        }
        Basis::Stated | Basis::NotShown => return None,
    };
    let source = row.own.source.as_deref().unwrap_or("–");
    let hours = whole(row.estimate);
    let sentence = format!(
        "Tickets of {source} come after the repair: {shown}. One opened up to {hours} hours after a replacement is \
         counted for what was replaced."
    );
    let late = row.events.unwrap_or(0) as f64;
    Some(Doubt { weight: (late / row.n.max(1.0)).min(1.0), sentence })
}

/// The window that moves the headline most, where one moves it out of its interval.
fn unsure(review: &Review, table: &Table) -> Option<Doubt> {
    let headline = review.skipped_cost.headline()?;
    let ratio = headline.estimate.filter(|ratio| *ratio > 0.0)?;
    let far = |row: &&Row| row.estimate.map_or(0.0, |other| (1.0 - other / ratio).abs());
    let flagged = table.quantity(Quantity::RatioByTicketWindow);
    let flagged = flagged.filter(|row| row.flags.contains(&Flag::LateTickets));
    let row = flagged.max_by(|a, b| far(a).total_cmp(&far(b)))?;
    let (other, here) = (Amount::of(row), Amount::of(headline));
    let sentence = format!(
        "How late tickets are stamped is not known: if up to {} hours after the repair, skipped inspections go with {} \
         times the faults, not {}.",
        row.own.to_hours.unwrap_or(0),
        other.bare(),
        here.bare()
    );
    Some(Doubt { weight: far(&row).min(1.0), sentence })
}

/// The window of every source.
fn windows(table: &Table) -> PageTable {
    PageTable::over(&table.quantity(Quantity::TicketWindow).collect::<Vec<_>>())
        .words("source", |row| row.own.source.clone().unwrap_or_default())
        .n("tickets")
        .events("that tell how late")
        .numbers("window, hours", |row| whole(row.estimate))
        .words("goes by", |row| row.own.basis.map_or("–", basis).to_owned())
        .set_first(MOST_ROWS, "How late a ticket may come after the repair", NAME)
}

fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Stated => "as the settings state",
        Basis::NamesReplaced => "tickets that name what had been replaced",
        Basis::ClearedBefore => "tickets cleared before what they attach to",
        Basis::Unexplained => "replacements that no earlier ticket explains",
        Basis::NotShown => "as usual: the tickets do not show it",
    }
}

/// The headline with other windows.
fn ratios(review: &Review, table: &Table) -> PageTable {
    PageTable::over(&table.quantity(Quantity::RatioByTicketWindow).collect::<Vec<_>>())
        .numbers("tickets late up to, hours", |row| whole(row.own.to_hours.map(f64::from)))
        .events("first faults")
        .estimates(review, "ratio")
        .flags()
        .set_first(MOST_ROWS, "The headline ratio, were tickets later or never late", NAME)
}
