//! How faults found their matings.

use super::part::{Doubt, MOST_ROWS, Part};
use crate::measures::Review;
use crate::measures::trust::{Attached, NAME, Quantity, Table};
use crate::report::page::page_table::PageTable;
use crate::report::questions::NO_RECORDS;
use crate::report::words::number::whole;

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    let doubts = table.quantity(Quantity::EmptyFaultSource).map(|row| {
        let source = row.own.source.as_deref().unwrap_or("–");
        let sentence =
            format!("The fault source {source} has no fault at all, so it covers nothing: no rate rests on it.");
        Doubt { weight: 1.0, sentence }
    });
    Part { tables: vec![attached(table)], doubts: doubts.collect() }
}

/// How many faults found the mating that they tell of.
pub(super) fn finding(table: &Table) -> String {
    let faults = |found: bool| -> f64 {
        let rows = table.quantity(Quantity::FaultsAttached);
        let wanted = rows.filter(|row| row.own.how.and_then(Attached::found) == Some(found));
        wanted.filter_map(|row| row.estimate).sum()
    };
    let attached = faults(true);
    let all = attached + faults(false);
    if all == 0.0 {
        return NO_RECORDS.to_owned();
    }
    format!(
        "{} of {} faults of the look-back found their mating; the rest count in no rate.",
        whole(Some(attached)),
        whole(Some(all))
    )
}

fn attached(table: &Table) -> PageTable {
    PageTable::over(&table.quantity(Quantity::FaultsAttached).collect::<Vec<_>>())
        .words("how", |row| row.own.how.map_or("–", attached_how).to_owned())
        .numbers("faults", |row| whole(row.estimate))
        .set_first(MOST_ROWS, "How faults found their mating", NAME)
}

fn attached_how(how: Attached) -> &'static str {
    match how {
        Attached::ByRecord => "by the mating that the ticket names",
        Attached::ByEndFace => "by end face and time",
        Attached::Lagged => "to the mating replaced shortly before (late ticket)",
        Attached::Ambiguous => "not: more than one mating fits",
        Attached::Unattached => "not: no mating fits",
        Attached::Outside => "attached, but outside the follow-up",
    }
}
