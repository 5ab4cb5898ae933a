//! Which minutes are lived, and which of them have records left.

use super::event::Minute;
use super::plant::DAY;

/// The minutes that are lived and those of which records are left.
#[derive(Clone, Copy, Debug, Default)]
pub struct Window {
    /// First minute written down, and the first no longer.
    pub lived: (Minute, Minute),
    /// First minute whose records are kept.
    pub kept: Minute,
}

impl Window {
    /// Whether something at this minute is written down.
    pub fn is_recorded(&self, at: Minute) -> bool {
        self.lived.0 <= at && at < self.lived.1
    }

    /// Whether the record of something at this minute is left.
    pub fn is_kept(&self, at: Minute) -> bool {
        self.kept <= at && at < self.lived.1
    }

    /// First minute of the last twelve months, as far as they are kept.
    pub fn year(&self) -> Minute {
        self.kept.max(self.lived.1 - 365 * DAY)
    }
}
