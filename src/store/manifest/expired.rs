//! How many records were dropped for their age.

use serde::{Deserialize, Serialize};

use super::written;
use crate::records::Table;

/// Records of one table of one export that were dropped for their age.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expired {
    /// What they were.
    #[serde(with = "written::table")]
    pub table: Table,
    /// How many.
    pub records: u64,
}

/// Adds records of a table that were dropped for their age.
pub(in crate::store) fn note_expired(expired: &mut Vec<Expired>, table: Table, records: u64) {
    if records == 0 {
        return;
    }
    match expired.iter_mut().find(|known| known.table == table) {
        Some(known) => known.records += records,
        None => {
            expired.push(Expired { table, records });
            expired.sort_by_key(|known| known.table);
        }
    }
}
