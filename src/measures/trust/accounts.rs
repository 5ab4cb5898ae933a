//! What became of the rows of every file.

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::Sources;
use crate::derive::DeriveError;
use crate::measures::results::Group;
use crate::store::{FileAccount, RowAccount};

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    table.rows.extend(from.accounts.iter().map(rows_of_file));
    Ok(())
}

fn rows_of_file(account: &FileAccount) -> Row {
    // Of rows withdrawn and expired the table of intake tells.
    let RowAccount { read, loaded, superseded, duplicate, quarantined, withdrawn: _, expired: _ } =
        account.rows;
    let own = Own {
        source: Some(account.source.clone()),
        file: Some(account.file.clone()),
        read: Some(read),
        loaded: Some(loaded),
        superseded: Some(superseded),
        duplicate: Some(duplicate),
        quarantined: Some(quarantined),
        ..Own::default()
    };
    let read = i64::try_from(read).unwrap_or(i64::MAX);
    Row::count(By::File, Group::default(), Quantity::Rows, read, own)
}
