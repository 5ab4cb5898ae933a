//! How long after the repair a ticket may be opened and still belong to the mating that was replaced (F2): one window a
//! source of tickets, the same for all of its time.

use serde::{Deserialize, Serialize};

use crate::calendar::HOUR_US;
use crate::records::code_list;

/// The window where tickets do not show how late they come, hours.
pub const USUAL_HOURS: u32 = 12;
/// The longest window that tickets can show, hours.
pub const MOST_HOURS: u32 = 72;
/// Windows of all sources under which the headline is also counted, hours: the sensitivity of 5.5.
pub const LAGS_HOURS: [u32; 4] = [0, 12, 36, 72];

code_list! {
    /// What a source's window goes by.
    #[derive(serde::Serialize, serde::Deserialize)]
    Basis {
        /// The settings state it.
        Stated = "stated",
        /// Tickets name matings that had been replaced before they were opened.
        NamesReplaced = "names-replaced",
        /// Tickets were cleared before the mating they attach to was made.
        ClearedBefore = "cleared-before",
        /// More tickets follow replacements that no earlier ticket explains than follow those that one does.
        Unexplained = "unexplained",
        /// Nothing shows that tickets come later than usual: the usual window stands.
        NotShown = "not-shown",
    }
}

/// The window of one source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Window {
    /// A ticket opened less than this after a replacement belongs to the mating that was replaced.
    pub hours: u32,
    /// What it goes by.
    pub basis: Basis,
}

impl Window {
    /// Where nothing is known of the source.
    pub const USUAL: Window = Window { hours: USUAL_HOURS, basis: Basis::NotShown };

    /// Whether the tickets themselves show how late they come.
    pub fn is_shown(self) -> bool {
        match self.basis {
            Basis::NamesReplaced | Basis::ClearedBefore | Basis::Unexplained => true,
            Basis::Stated | Basis::NotShown => false,
        }
    }

    /// Whether a ticket opened so long after a replacement, microseconds, may belong to what was replaced.
    pub fn holds(self, delay: i64) -> bool {
        delay < i64::from(self.hours) * HOUR_US
    }
}

/// The windows of all sources.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Windows {
    /// By code of the source; those beyond have the usual one.
    by_source: Vec<Window>,
}

impl Windows {
    /// By code of the source.
    pub fn new(by_source: Vec<Window>) -> Windows {
        Windows { by_source }
    }

    /// That of a source.
    pub fn of(&self, source: u32) -> Window {
        self.by_source.get(source as usize).copied().unwrap_or(Window::USUAL)
    }

    /// As long for every source; what each goes by stays.
    pub fn of_hours(&self, hours: u32) -> Windows {
        let same = |window: &Window| Window { hours, ..*window };
        Windows { by_source: self.by_source.iter().map(same).collect() }
    }
}
