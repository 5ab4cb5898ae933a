//! The sums of what became of the rows of an export.

use serde::{Deserialize, Serialize};

/// Rows of one export: `read` is the sum of the others but `withdrawn`, which is part of `superseded`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RowAccount {
    /// Data rows in the file.
    pub read: u64,
    /// Rows with a record that stands.
    pub loaded: u64,
    /// Rows whose records were replaced by later ones with other content, or withdrawn.
    pub superseded: u64,
    /// Of those, rows that a later export which holds everything leaves out.
    pub withdrawn: u64,
    /// Rows that say what another row says.
    pub duplicate: u64,
    /// Rows that could not be typed.
    pub quarantined: u64,
    /// Rows of which every record was dropped for its age.
    #[serde(default)]
    pub expired: u64,
}

impl RowAccount {
    /// Sum of what became of the rows; none where it exceeds 64 bits.
    pub(in crate::store) fn accounted(&self) -> Option<u64> {
        [self.superseded, self.duplicate, self.quarantined, self.expired]
            .into_iter()
            .try_fold(self.loaded, u64::checked_add)
    }
}
