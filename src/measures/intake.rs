//! Promise 1 as a table: what became of every row of every file, and why rows were refused.

use crate::measures::results::{Group, results};
use crate::records;
use crate::store::{FileAccount, LostCell, LostCells, Reason, RowAccount};

results! {
    /// What became of every row that was read, and of every export that could not be read.
    table "intake";

    /// What intake is grouped by.
    pub enum By {
        File = "file",
    }

    /// What intake tells.
    pub enum Quantity {
        /// Rows of a file; its columns say what became of them.
        Rows = "rows" [Count],
        /// Rows of a file that were quarantined for a fault in one place.
        Refused = "refused" [Count],
        /// One of the first rows quarantined for a fault, as an example.
        Example = "example" [Count],
        /// Cells of one column that could not be read for one reason and were left out, the rest of their rows standing.
        LostCells = "cells-left-out" [Count],
        /// One of the first cells left out for a reason, as an example.
        LostCell = "cell-left-out" [Count],
        /// Records of one table dropped for their age.
        Expired = "expired" [Count],
        /// A file that could not be read; the review was made without it.
        Unread = "unread" [Count],
    }

    /// What intake adds to its counts.
    pub struct Own {
        /// Name of the source.
        source: String,
        /// Path of the file, relative to the folder of the settings.
        file: String,
        /// Data rows in the file.
        read: Option<u64> [Count],
        /// Rows with a record that stands.
        loaded: Option<u64> [Count],
        /// Rows whose records were replaced by later ones with other content, or withdrawn.
        superseded: Option<u64> [Count],
        /// Of the superseded rows those that a later export, which holds everything, leaves out.
        withdrawn: Option<u64> [Count],
        /// Rows that say what another row says.
        duplicate: Option<u64> [Count],
        /// Rows that could not be read as the settings say.
        quarantined: Option<u64> [Count],
        /// Table that a quarantined row should have gone into, or that dropped records were of; empty where none applied to the row.
        table: Option<String>,
        /// Column at fault; empty where it was the row as a whole.
        column: Option<String>,
        /// Line on which the row of an example begins, from 1.
        line: Option<u64> [Number],
        /// Why cells were left out.
        why: Option<records::Misread>,
        /// What was found, what was expected and what to do.
        reason: Option<String>,
        /// The row of an example as it was read, people masked.
        raw: Option<String>,
    }
}

impl Own {
    /// A file, and nothing more said of it.
    pub fn of_file(source: &str, file: &str) -> Own {
        Own::with(source.to_owned(), file.to_owned())
    }
}

/// The table of intake: for every file a row of counts, then a row for each fault with the rows that have
/// it and the first rows that do, then the cells left out, then the records dropped for their age.
pub fn intake(accounts: &[FileAccount]) -> Table {
    let mut table = Table::default();
    for account in accounts {
        table.rows.push(rows_of_file(account));
        for reason in &account.reasons {
            push_reason(account, reason, &mut table);
        }
        for lost in &account.lost {
            push_lost(account, lost, &mut table);
        }
        for expired in &account.expired {
            let own = Own { table: Some(expired.table.name().to_owned()), ..file_of(account) };
            table.rows.push(count(Quantity::Expired, expired.records, own));
        }
    }
    table
}

fn file_of(account: &FileAccount) -> Own {
    Own::of_file(&account.source, &account.file)
}

fn count(quantity: Quantity, count: u64, own: Own) -> Row {
    let count = i64::try_from(count).unwrap_or(i64::MAX);
    Row::count(By::File, Group::default(), quantity, count, own)
}

fn rows_of_file(account: &FileAccount) -> Row {
    // What expired follows by table, in records.
    let RowAccount { read, loaded, superseded, withdrawn, duplicate, quarantined, expired: _ } =
        account.rows;
    let own = Own {
        read: Some(read),
        loaded: Some(loaded),
        superseded: Some(superseded),
        withdrawn: Some(withdrawn),
        duplicate: Some(duplicate),
        quarantined: Some(quarantined),
        ..file_of(account)
    };
    count(Quantity::Rows, read, own)
}

fn push_lost(account: &FileAccount, lost: &LostCells, table: &mut Table) {
    let place = Own {
        table: Some(lost.table.name().to_owned()),
        column: Some(lost.column.clone()),
        why: Some(lost.why),
        ..file_of(account)
    };
    table.rows.push(count(Quantity::LostCells, lost.cells, place.clone()));
    for LostCell { line, reason } in &lost.examples {
        let own = Own { line: Some(*line), reason: Some(reason.clone()), ..place.clone() };
        table.rows.push(count(Quantity::LostCell, 1, own));
    }
}

fn push_reason(account: &FileAccount, reason: &Reason, table: &mut Table) {
    let named = |word: &str| (!word.is_empty()).then(|| word.to_owned());
    let place =
        Own { table: named(&reason.table), column: named(&reason.column), ..file_of(account) };
    table.rows.push(count(Quantity::Refused, reason.rows, place.clone()));
    for example in &reason.examples {
        let own = Own {
            line: Some(example.line),
            reason: Some(example.reason.clone()),
            raw: Some(example.raw.clone()),
            ..place.clone()
        };
        table.rows.push(count(Quantity::Example, 1, own));
    }
}
