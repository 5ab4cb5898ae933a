//! Q10: whether these records can be trusted.

use super::NO_RECORDS;
use super::intake::made_without;
use crate::measures::Review;
use crate::measures::trust::{Attached, By, NAME, Quantity, Row, Table};
use crate::records;
use crate::report::page::page_table::PageTable;
use crate::report::page::section::Section;
use crate::report::words::flags::explained;
use crate::report::words::label::in_order;
use crate::report::words::number::whole;

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.trust;
    let mut doubts = explained(&table.rows);
    doubts.extend(table.quantity(Quantity::EmptyFaultSource).map(|row| {
        let source = row.own.source.as_deref().unwrap_or("–");
        format!("The fault source {source} has no fault at all, so it covers nothing: no rate rests on it.")
    }));
    doubts.extend(made_without(review));
    Section {
        id: NAME,
        question: "Can these records be trusted?",
        finding: finding(table),
        pictures: Vec::new(),
        tables: vec![attached(table), shares(review, table), counts(table)],
        method: "Counted over the records that stand. Nothing here is estimated, except that shares of looks carry \
                 the interval named in their heading."
            .to_owned(),
        doubts,
    }
}

/// How many faults found the mating that they tell of.
fn finding(table: &Table) -> String {
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
        "{} of {} faults of the look-back found their mating; the rest count in no rate",
        whole(Some(attached)),
        whole(Some(all))
    )
}

fn attached(table: &Table) -> PageTable {
    PageTable::over(&table.quantity(Quantity::FaultsAttached).collect::<Vec<_>>())
        .words("how", |row| row.own.how.map_or("–", attached_how).to_owned())
        .numbers("faults", |row| whole(row.estimate))
        .set("How faults found their mating", NAME)
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

/// Shares of looks that say less than they should, and times known only to the day.
fn shares(review: &Review, table: &Table) -> PageTable {
    let by_day = in_order(review, table.rows_of(By::Table, Quantity::DayPrecision));
    let dark = in_order(review, table.rows_of(By::Site, Quantity::Unreadable));
    let rows: Vec<&Row> = by_day.into_iter().chain(dark).collect();
    PageTable::over(&rows)
        .words("what", |row| open_point(row))
        .n("of")
        .events("such")
        .estimates(review, "share")
        .flags()
        .set("What the records leave open", NAME)
}

/// What a share leaves open, and of which records.
fn open_point(row: &Row) -> String {
    let (words, place) = match row.quantity {
        Quantity::DayPrecision => {
            ("time known only to the day", row.own.table.map(records::Table::name))
        }
        Quantity::Unreadable => ("unreadable", row.group.site.as_deref()),
        other => (other.word(), None),
    };
    place.map_or_else(|| words.to_owned(), |place| format!("{words}: {place}"))
}

/// Counts of the whole fleet that are no shares.
fn counts(table: &Table) -> PageTable {
    let counted = [
        (Quantity::Conflicts, "attributes against the register"),
        (Quantity::FindingsMissing, "failed without a finding"),
        (Quantity::SilentMonths, "months without a look"),
    ];
    let rows: Vec<(&str, &Row)> = counted
        .into_iter()
        .flat_map(|(quantity, words)| table.quantity(quantity).map(move |row| (words, row)))
        .collect();
    PageTable::over(&rows)
        .words("what", |(words, _)| (*words).to_owned())
        .numbers("count", |(_, row)| whole(row.estimate))
        .set("Counted, and left as it is", NAME)
}
