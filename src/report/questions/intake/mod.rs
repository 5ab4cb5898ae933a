//! What became of every row that was read: promise 1, for the reader's eyes.

use super::NO_RECORDS;
use crate::charts::number::{count, percent};
use crate::measures::Review;
use crate::measures::intake::{NAME, Quantity, Row, Table};
use crate::report::page::page_table::PageTable;
use crate::report::page::section::Section;
use crate::report::words::number::whole;
use crate::store::{FileAccount, RowAccount};

const QUESTION: &str = "What became of every row?";
/// Most faults that the page lists; the file has all of them.
const MOST_FAULTS: usize = 12;

pub(in crate::report) fn section(review: &Review, accounts: &[FileAccount]) -> Section {
    let table = &review.intake;
    Section {
        id: NAME,
        question: QUESTION,
        finding: sentence(accounts),
        pictures: Vec::new(),
        tables: vec![files(accounts), faults(table)],
        method: "Every row read is loaded, superseded by a later export, a duplicate, or rejected (quarantined, as files and settings call it) with its reason; \
                 the sum is checked at every run. A withdrawn row is one that a later export leaves out although the \
                 settings call that export complete; it counts as superseded. In examples people's names are masked \
                 (***) and cells that the map does not read are left out (..)."
            .to_owned(),
        doubts: table.quantity(Quantity::Unread).map(unread_sentence).collect(),
    }
}

/// How much of what was read stands: one line, also of the first page.
pub(in crate::report) fn sentence(accounts: &[FileAccount]) -> String {
    let sum = |part: fn(&RowAccount) -> u64| {
        accounts.iter().fold(0u64, |sum, line| sum.saturating_add(part(&line.rows)))
    };
    let read = sum(|rows| rows.read);
    if read == 0 {
        return NO_RECORDS.to_owned();
    }
    let part = |rows: u64| format!("{} ({})", count(rows), percent(rows as f64 / read as f64, 1));
    format!(
        "Of {} rows read from {} files, {} stand; {} were rejected, {} were superseded by a later export, {} were \
         duplicates.",
        count(read),
        accounts.len(),
        part(sum(|rows| rows.loaded)),
        part(sum(|rows| rows.quarantined)),
        part(sum(|rows| rows.superseded)),
        part(sum(|rows| rows.duplicate)),
    ) + &match sum(|rows| rows.expired) {
        0 => String::new(),
        rows => format!(" {} were dropped for their age, as the settings say.", part(rows)),
    }
}

/// Most unread exports that the first page names.
const MOST_NAMED: usize = 3;

/// That the review was made without some exports, and which: for the first page. Nothing where all were read.
pub(in crate::report) fn made_without(review: &Review) -> Option<String> {
    let unread: Vec<&Row> = review.intake.quantity(Quantity::Unread).collect();
    let named: Vec<String> = unread.iter().copied().take(MOST_NAMED).map(unread_sentence).collect();
    let more = match unread.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" {} more: section \u{201c}{QUESTION}\u{201d}.", count(more as u64)),
    };
    let exports = if unread.len() == 1 { "export that" } else { "exports that" };
    let all = count(unread.len() as u64);
    let said = format!("Made without {all} {exports} could not be read. {}{more}", named.join(" "));
    (!unread.is_empty()).then_some(said)
}

fn unread_sentence(row: &Row) -> String {
    let reason = row.own.reason.as_deref().unwrap_or("it is not known why");
    format!("{} of {}: {}.", row.own.file, row.own.source, reason.trim_end_matches('.'))
}

fn files(accounts: &[FileAccount]) -> PageTable {
    let mut lines: Vec<&FileAccount> = accounts.iter().collect();
    lines.sort_by(|a, b| {
        (b.rows.quarantined.cmp(&a.rows.quarantined))
            .then_with(|| (&a.source, &a.file).cmp(&(&b.source, &b.file)))
    });
    // Nearly no fleet has rows withdrawn, and a column of noughts only pushes the others out.
    let withdrawn = lines.iter().any(|line| line.rows.withdrawn > 0);
    let expired = lines.iter().any(|line| line.rows.expired > 0);
    let mut page = PageTable::over(&lines)
        .words("source", |line| line.source.clone())
        .words("file", |line| line.file.clone())
        .numbers("read", |line| count(line.rows.read))
        .numbers("loaded", |line| count(line.rows.loaded))
        .numbers("superseded", |line| count(line.rows.superseded));
    if withdrawn {
        page = page.numbers("withdrawn", |line| count(line.rows.withdrawn));
    }
    page = page
        .numbers("duplicate", |line| count(line.rows.duplicate))
        .numbers("rejected", |line| count(line.rows.quarantined));
    if expired {
        page = page.numbers("expired", |line| count(line.rows.expired));
    }
    page.set("Rows by file, most rejected first", NAME)
}

/// The faults that most rows have, each with the first row that has it.
fn faults(table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = table.quantity(Quantity::Refused).collect();
    rows.sort_by(|a, b| b.n.total_cmp(&a.n));
    let caption = match rows.len() {
        all if all > MOST_FAULTS => {
            format!("Why rows were rejected: the {MOST_FAULTS} commonest of {all} faults")
        }
        _ => "Why rows were rejected, the commonest fault first".to_owned(),
    };
    rows.truncate(MOST_FAULTS);
    let faults: Vec<(&Row, Option<&Row>)> =
        rows.into_iter().map(|row| (row, first_example(table, row))).collect();
    PageTable::over(&faults)
        .words("file", |(fault, _)| fault.own.file.clone())
        .words("table and column", |(fault, _)| place(fault))
        .numbers("rows", |(fault, _)| whole(Some(fault.n)))
        .numbers("first at line", |(_, example)| {
            example.and_then(|row| row.own.line).map_or_else(String::new, count)
        })
        .words("found there", |(_, example)| {
            example.and_then(|row| row.own.reason.clone()).unwrap_or_default()
        })
        .words("the row", |(_, example)| {
            example.and_then(|row| row.own.raw.clone()).unwrap_or_default()
        })
        .set(&caption, NAME)
}

fn first_example<'t>(table: &'t Table, fault: &Row) -> Option<&'t Row> {
    let same = |row: &&Row| {
        let (a, b) = (&row.own, &fault.own);
        (&a.source, &a.file, &a.table, &a.column) == (&b.source, &b.file, &b.table, &b.column)
    };
    table.quantity(Quantity::Example).find(same)
}

/// Table and column of a fault.
fn place(fault: &Row) -> String {
    match (&fault.own.table, &fault.own.column) {
        (None, None) => "the whole row".to_owned(),
        (Some(table), None) => table.clone(),
        (Some(table), Some(column)) => format!("{table} \u{201c}{column}\u{201d}"),
        (None, Some(column)) => format!("\u{201c}{column}\u{201d}"),
    }
}
