//! Promise 1 as a table: what became of every row of every file, and why rows were refused.

use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::store::{FileAccount, Reason};

const OWN: &[&str] = &[
    "source",
    "file",
    "read",
    "loaded",
    "superseded",
    "withdrawn",
    "duplicate",
    "quarantined",
    "table",
    "column",
    "line",
    "reason",
    "raw",
];

/// The table of intake: a row of counts a file, then a row for each fault with the rows that have
/// it, and the first rows that do.
pub fn intake(accounts: &[FileAccount]) -> Table {
    let mut table = Table::empty("intake", OWN);
    for account in accounts {
        push_file(account, &mut table);
        for reason in &account.reasons {
            push_reason(account, reason, &mut table);
        }
        push_expired(account, &mut table);
    }
    table
}

fn text(word: &str) -> Value {
    Value::Text(word.to_owned())
}

fn count(count: u64) -> Value {
    Value::Count(i64::try_from(count).unwrap_or(i64::MAX))
}

fn push(quantity: &'static str, rows: u64, values: &[(&str, Value)], table: &mut Table) {
    let mut row =
        Row::figure("file", Group::default(), quantity, Unit::Count, rows as f64, "count");
    row.n = rows as f64;
    row.events = i64::try_from(rows).ok();
    let own = table.fill(values);
    table.rows.push(row.with(own));
}

fn push_file(account: &FileAccount, table: &mut Table) {
    let rows = &account.rows;
    let values = [
        ("source", text(&account.source)),
        ("file", text(&account.file)),
        ("read", count(rows.read)),
        ("loaded", count(rows.loaded)),
        ("superseded", count(rows.superseded)),
        ("withdrawn", count(rows.withdrawn)),
        ("duplicate", count(rows.duplicate)),
        ("quarantined", count(rows.quarantined)),
    ];
    push("rows", rows.read, &values, table);
}

/// Records dropped for their age, a row a table.
fn push_expired(account: &FileAccount, table: &mut Table) {
    for expired in &account.expired {
        let place = [
            ("source", text(&account.source)),
            ("file", text(&account.file)),
            ("table", text(expired.table.name())),
        ];
        push("expired", expired.records, &place, table);
    }
}

fn push_reason(account: &FileAccount, reason: &Reason, table: &mut Table) {
    let place = [
        ("source", text(&account.source)),
        ("file", text(&account.file)),
        ("table", text(&reason.table)),
        ("column", text(&reason.column)),
    ];
    push("refused", reason.rows, &place, table);
    for example in &reason.examples {
        let mut values = place.to_vec();
        values.extend([
            ("line", count(example.line)),
            ("reason", text(&example.reason)),
            ("raw", text(&example.raw)),
        ]);
        push("example", 1, &values, table);
    }
}
