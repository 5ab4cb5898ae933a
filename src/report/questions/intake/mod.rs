//! What became of every row that was read: promise 1, for the reader's eyes.

mod picture;

use super::NO_RECORDS;
use crate::charts::number::{count, percent};
use crate::measures::{Review, Row, Table, Value, unread_of};
use crate::report::AccountLine;
use crate::report::page::page_table::{PageTable, Set};
use crate::report::page::section::Section;
use crate::report::words::number::whole;
use picture::accounts as account_bars;

const NAME: &str = "intake";
const QUESTION: &str = "What became of every row?";
/// Most faults that the page lists; the file has all of them.
const MOST_FAULTS: usize = 12;

pub(in crate::report) fn section(review: &Review, accounts: &[AccountLine]) -> Section {
    let table = &review.intake;
    let picture = account_bars(accounts, most_quarantined(accounts));
    Section {
        id: NAME,
        question: QUESTION,
        finding: sentence(accounts),
        pictures: picture.into_iter().collect(),
        tables: vec![files(accounts), faults(table)],
        method: "Every row read is loaded, superseded by a later export, a duplicate, or quarantined with its reason; \
                 the sum is checked at every run. A withdrawn row is one that a later export leaves out although the \
                 settings call that export complete; it counts as superseded. In examples people's names are masked \
                 (***) and cells that the map does not read are left out (..)."
            .to_owned(),
        doubts: unread_of(review).iter().map(unread_sentence).collect(),
    }
}

/// How much of what was read stands: one line, also of the first page.
pub(in crate::report) fn sentence(accounts: &[AccountLine]) -> String {
    let sum = |part: fn(&AccountLine) -> u64| {
        accounts.iter().fold(0u64, |sum, line| sum.saturating_add(part(line)))
    };
    let read = sum(|line| line.read);
    if read == 0 {
        return NO_RECORDS.to_owned();
    }
    let part = |rows: u64| format!("{} ({})", count(rows), percent(rows as f64 / read as f64, 1));
    format!(
        "Of {} rows read from {} files, {} stand; {} were quarantined, {} were superseded by a later export, {} were \
         duplicates.",
        count(read),
        accounts.len(),
        part(sum(|line| line.loaded)),
        part(sum(|line| line.quarantined)),
        part(sum(|line| line.superseded)),
        part(sum(|line| line.duplicate)),
    ) + &match sum(|line| line.expired) {
        0 => String::new(),
        rows => format!(" {} were dropped for their age, as the settings say.", part(rows)),
    }
}

/// Most unread exports that the first page names.
const MOST_NAMED: usize = 3;

/// That the review was made without some exports, and which: for the first page. Nothing where all were read.
pub(in crate::report) fn made_without(review: &Review) -> Option<String> {
    let unread = unread_of(review);
    let named: Vec<String> = unread.iter().take(MOST_NAMED).map(unread_sentence).collect();
    let more = match unread.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" {} more: section \u{201c}{QUESTION}\u{201d}.", count(more as u64)),
    };
    let exports = if unread.len() == 1 { "export that" } else { "exports that" };
    let all = count(unread.len() as u64);
    let said = format!("Made without {all} {exports} could not be read. {}{more}", named.join(" "));
    (!unread.is_empty()).then_some(said)
}

fn unread_sentence([source, file, reason]: &[&str; 3]) -> String {
    format!("{file} of {source}: {}.", reason.trim_end_matches('.'))
}

fn most_quarantined(accounts: &[AccountLine]) -> String {
    let most = accounts.iter().max_by(|a, b| {
        a.quarantined
            .cmp(&b.quarantined)
            .then_with(|| (&b.source, &b.file).cmp(&(&a.source, &a.file)))
    });
    match most.filter(|line| line.quarantined > 0) {
        Some(line) => format!(
            "Most rows were quarantined from {}: {} of {}",
            line.file,
            count(line.quarantined),
            count(line.read)
        ),
        None => "No row was quarantined".to_owned(),
    }
}

fn files(accounts: &[AccountLine]) -> PageTable {
    let mut lines: Vec<&AccountLine> = accounts.iter().collect();
    lines.sort_by(|a, b| {
        b.quarantined
            .cmp(&a.quarantined)
            .then_with(|| (&a.source, &a.file).cmp(&(&b.source, &b.file)))
    });
    // Nearly no fleet has rows withdrawn, and a column of noughts only pushes the others out.
    let withdrawn = lines.iter().any(|line| line.withdrawn > 0);
    let expired = lines.iter().any(|line| line.expired > 0);
    let rows = lines.iter().map(|line| {
        let mut cells = vec![line.source.clone(), line.file.clone()];
        cells.extend([line.read, line.loaded, line.superseded].map(count));
        cells.extend(withdrawn.then(|| count(line.withdrawn)));
        cells.extend([line.duplicate, line.quarantined].map(count));
        cells.extend(expired.then(|| count(line.expired)));
        cells
    });
    let mut headings = vec![
        ("source", Set::Words),
        ("file", Set::Words),
        ("read", Set::Number),
        ("loaded", Set::Number),
        ("superseded", Set::Number),
    ];
    headings.extend(withdrawn.then_some(("withdrawn", Set::Number)));
    headings.extend([("duplicate", Set::Number), ("quarantined", Set::Number)]);
    headings.extend(expired.then_some(("expired", Set::Number)));
    PageTable::of("Rows by file, most quarantined first", &headings, rows.collect(), NAME)
}

/// The faults that most rows have, each with the first row that has it.
fn faults(table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = table.rows.iter().filter(|row| row.quantity == "refused").collect();
    rows.sort_by(|a, b| b.n.total_cmp(&a.n));
    let listed = rows.iter().take(MOST_FAULTS);
    let lines = listed.map(|row| {
        let example = first_example(table, row);
        let of_example = |column| example.map_or_else(String::new, |row| text(table, row, column));
        vec![
            text(table, row, "file"),
            place(table, row),
            whole(Some(row.n)),
            of_example("line"),
            of_example("reason"),
            of_example("raw"),
        ]
    });
    let headings = [
        ("file", Set::Words),
        ("table and column", Set::Words),
        ("rows", Set::Number),
        ("first at line", Set::Number),
        ("found there", Set::Words),
        ("the row", Set::Words),
    ];
    let caption = match rows.len() {
        all if all > MOST_FAULTS => {
            format!("Why rows were quarantined: the {MOST_FAULTS} commonest of {all} faults")
        }
        _ => "Why rows were quarantined, the commonest fault first".to_owned(),
    };
    PageTable::of(&caption, &headings, lines.collect(), NAME)
}

fn first_example<'t>(table: &'t Table, fault: &Row) -> Option<&'t Row> {
    let same = |row: &Row| {
        let columns = ["source", "file", "table", "column"];
        columns.iter().all(|name| table.own(row, name) == table.own(fault, name))
    };
    table.rows.iter().find(|row| row.quantity == "example" && same(row))
}

fn place(table: &Table, row: &Row) -> String {
    match (text(table, row, "table"), text(table, row, "column")) {
        (table, column) if column.is_empty() && table.is_empty() => "the whole row".to_owned(),
        (table, column) if column.is_empty() => table,
        (table, column) => format!("{table} \u{201c}{column}\u{201d}").trim_start().to_owned(),
    }
}

fn text(table: &Table, row: &Row, column: &str) -> String {
    match table.own(row, column) {
        Value::Text(text) => text.clone(),
        Value::Count(value) => count(u64::try_from(*value).unwrap_or(0)),
        _ => String::new(),
    }
}
