//! Q10: whether these records can be trusted.

use super::{Estimates, NO_RECORDS};
use crate::charts::number::{count, percent};
use crate::measures::{Review, Row, Table, Unit, Value};
use crate::report::AccountLine;
use crate::report::flags::explained;
use crate::report::label::ordered;
use crate::report::number::{Amount, whole};
use crate::report::page_table::{PageTable, Set};
use crate::report::pictures::accounts as account_bars;
use crate::report::section::Section;

const NAME: &str = "trust";

pub(super) fn section(review: &Review, accounts: &[AccountLine]) -> Section {
    let table = review.table(NAME);
    let finding = sentence(accounts);
    let mut doubts = explained(&table.rows);
    let silent = table.rows.iter().filter(|row| row.quantity == "fault-source-without-faults");
    doubts.extend(silent.map(|row| {
        format!(
            "The fault source {} has no fault at all, so it covers nothing: no rate rests on it.",
            own_text(table, row, "source")
        )
    }));
    let picture = account_bars(accounts, most_quarantined(accounts));
    Section {
        id: NAME,
        question: "Can these records be trusted?",
        finding,
        pictures: picture.into_iter().collect(),
        tables: vec![
            files(accounts),
            reasons(table),
            attached(table),
            shares(review, table),
            counts(table),
        ],
        method: "Every row read is loaded, superseded by a later export, a duplicate, or quarantined with its reason; \
                 the sum is checked at every run. Nothing here is estimated, except that shares of looks carry the \
                 interval named in their heading."
            .to_owned(),
        doubts,
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
    )
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
    let rows = lines.iter().map(|line| {
        let mut cells = vec![line.source.clone(), line.file.clone()];
        let parts = [line.read, line.loaded, line.superseded, line.duplicate, line.quarantined];
        cells.extend(parts.map(count));
        cells
    });
    let headings = [
        ("source", Set::Words),
        ("file", Set::Words),
        ("read", Set::Number),
        ("loaded", Set::Number),
        ("superseded", Set::Number),
        ("duplicate", Set::Number),
        ("quarantined", Set::Number),
    ];
    PageTable::of("Rows by file, most quarantined first", &headings, rows.collect(), NAME)
}

fn reasons(table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = table.rows.iter().filter(|row| row.quantity == "reason").collect();
    rows.sort_by(|a, b| b.estimate.unwrap_or(0.0).total_cmp(&a.estimate.unwrap_or(0.0)));
    let lines = rows.iter().map(|row| {
        vec![
            own_text(table, row, "source"),
            own_text(table, row, "file"),
            own_text(table, row, "reason"),
            whole(row.estimate),
        ]
    });
    let headings = [
        ("source", Set::Words),
        ("file", Set::Words),
        ("reason", Set::Words),
        ("rows", Set::Number),
    ];
    PageTable::of("Why rows were quarantined", &headings, lines.collect(), NAME)
}

fn attached(table: &Table) -> PageTable {
    let rows = table.rows.iter().filter(|row| row.quantity == "faults-attached");
    let lines =
        rows.map(|row| vec![attached_how(&own_text(table, row, "how")), whole(row.estimate)]);
    let headings = [("how", Set::Words), ("faults", Set::Number)];
    PageTable::of("How faults found their mating", &headings, lines.collect(), NAME)
}

fn attached_how(how: &str) -> String {
    let words = match how {
        "record" => "by the mating that the ticket names",
        "end-face" => "by end face and time",
        "lagged" => "to the mating replaced shortly before (late ticket)",
        "ambiguous" => "not: more than one mating fits",
        "unattached" => "not: no mating fits",
        "outside" => "attached, but outside the follow-up",
        other => other,
    };
    words.to_owned()
}

/// Shares of looks that say less than they should, and times known only to the day.
fn shares(review: &Review, table: &Table) -> PageTable {
    let quantities = [
        ("day-precision", "time known only to the day"),
        ("conflicts", "attributes against the register"),
        ("findings-missing", "failed without a finding"),
        ("unreadable", "unreadable"),
    ];
    let mut rows: Vec<(String, &Row)> = Vec::new();
    for (quantity, words) in quantities {
        for by in ["fleet", "table", "site"] {
            let shares = ordered(review, table, by, quantity);
            for row in shares.into_iter().filter(|row| row.unit == Unit::Share) {
                let group = row.group.site.clone().or_else(|| own(table, row, "table"));
                let name =
                    group.map_or_else(|| words.to_owned(), |group| format!("{words}: {group}"));
                rows.push((name, row));
            }
        }
    }
    let estimates = Estimates {
        caption: "What the records leave open",
        place: "what",
        n: "of",
        events: "such",
        estimate: "share",
        file: NAME,
    };
    estimates.table(review, &rows)
}

/// Counts of the whole fleet that are no shares.
fn counts(table: &Table) -> PageTable {
    let known = ["conflicts", "findings-missing", "silent-months"];
    let rows =
        table.rows.iter().filter(|row| known.contains(&row.quantity) && row.unit == Unit::Count);
    let lines = rows.map(|row| {
        let words = match row.quantity {
            "conflicts" => "attributes against the register",
            "findings-missing" => "failed without a finding",
            _ => "months without a look",
        };
        let place = row.group.site.as_deref().map(|site| format!("{words}: {site}"));
        vec![place.unwrap_or_else(|| words.to_owned()), whole(Amount::of(row).value)]
    });
    let headings = [("what", Set::Words), ("count", Set::Number)];
    PageTable::of("Counted, and left as it is", &headings, lines.collect(), NAME)
}

fn own(table: &Table, row: &Row, column: &str) -> Option<String> {
    match table.own(row, column) {
        Value::Text(text) => Some(text.clone()),
        _ => None,
    }
}

fn own_text(table: &Table, row: &Row, column: &str) -> String {
    own(table, row, column).unwrap_or_else(|| "–".to_owned())
}
