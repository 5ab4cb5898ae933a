//! How much memory the reading of one file may take. What must be held whole is weighed before it is
//! read; what weighs too much is refused by name, with the key that allows it more.

use super::table_error::TableError;
use crate::settings::Rules;

/// Memory that the reading of one file may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Room {
    bytes: u64,
}

/// A share of a room: one part in so many. What is held besides it, the program itself first of all,
/// takes the rest.
pub const HALF: u64 = 2;
/// What the footer of a Parquet file or a list of names may take: what becomes of it takes many times
/// as much.
pub const LIST: u64 = 32;

/// Bytes that a look at one column takes: its name in several places, its counts, its most frequent
/// words.
const COLUMN: u64 = 4096;
/// Share that the look at all columns may take.
const COLUMNS: u64 = 4;

impl Room {
    /// That of so many MiB.
    pub fn of_mib(mib: u32) -> Self {
        Self { bytes: u64::from(mib) << 20 }
    }

    /// One part in `parts` of it, bytes.
    pub fn share(self, parts: u64) -> u64 {
        self.bytes / parts
    }

    /// Refuses what takes more than one part in `parts`; `takes` in bytes.
    ///
    /// # Errors
    /// [`TableError::NoRoom`].
    pub fn check(
        self,
        what: &'static str,
        takes: u64,
        parts: u64,
        advice: &'static str,
    ) -> Result<(), TableError> {
        if takes <= self.share(parts) {
            return Ok(());
        }
        let most = mib(self.share(parts));
        let takes = mib(takes).max(most + 1);
        Err(TableError::NoRoom { what, takes, most, needed: takes.saturating_mul(parts), advice })
    }

    /// Refuses more columns than can be looked at.
    ///
    /// # Errors
    /// [`TableError::NoRoom`].
    pub fn check_columns(self, columns: usize) -> Result<(), TableError> {
        let takes = (columns as u64).saturating_mul(COLUMN);
        let advice = "check what separates its columns";
        self.check("so many columns that a look at them takes", takes, COLUMNS, advice)
    }
}

/// The room that the settings give by default.
impl Default for Room {
    fn default() -> Self {
        Self::of_mib(Rules::default().memory_mib)
    }
}

/// Bytes in MiB, rounded up.
fn mib(bytes: u64) -> u64 {
    bytes.div_ceil(1 << 20)
}
