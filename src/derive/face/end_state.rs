//! The state of one end face when it is mated (C1).

use serde::{Deserialize, Serialize};

use super::event::{Event, Standard, kind};
use crate::calendar::HOUR_US;
use crate::records::Outcome;
use crate::settings::Rules;

/// Windows before a mating under which its ends are judged in addition to that of the rules, hours: the
/// sensitivity of 5.5.
pub const WINDOWS_HOURS: [u32; 3] = [8, 24, 72];

/// What was last known of an end, by the time it was mated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[repr(u8)]
pub enum EndState {
    /// Nobody looked, or the end was cleaned and nobody looked after.
    Unseen,
    /// The last look failed.
    Failing,
    /// The last look passed.
    Seen,
}

impl EndState {
    /// The state with that number; anything else reads as unseen.
    pub fn of(code: u8) -> EndState {
        match code {
            1 => EndState::Failing,
            2 => EndState::Seen,
            _ => EndState::Unseen,
        }
    }
}

/// A readable look.
#[derive(Clone, Copy, Debug)]
struct LastLook {
    at: i64,
    passed: bool,
    standard: Standard,
}

/// What was known of an end when it was mated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Known {
    /// Under the window of the rules.
    pub state: EndState,
    /// Under each of [`WINDOWS_HOURS`].
    pub by_window: [EndState; 3],
    /// What the last look was judged by.
    pub standard: Standard,
}

/// Follows one end face through its events.
#[derive(Clone, Copy, Debug, Default)]
pub struct Watch {
    /// The last readable look since the last mating, demating or cleaning.
    last: Option<LastLook>,
}

impl Watch {
    /// Takes any event but a mating.
    pub fn take(&mut self, event: &Event) {
        match event.kind {
            kind::LOOK => match event.outcome() {
                Some(outcome @ (Outcome::Pass | Outcome::Fail)) => {
                    self.last = Some(LastLook {
                        at: event.at,
                        passed: outcome == Outcome::Pass,
                        standard: event.standard(),
                    });
                }
                Some(Outcome::Unreadable) | None => {}
            },
            kind::CLEANING | kind::DEMATING => self.last = None,
            _ => {}
        }
    }

    /// What is known at a mating, which also ends it.
    pub fn mate(&mut self, event: &Event, rules: &Rules) -> Known {
        let last = self.last.take();
        let under = |hours: u32| match last {
            Some(look) if look.at < starts(event, hours) => EndState::Unseen,
            Some(look) if look.passed => EndState::Seen,
            Some(_) => EndState::Failing,
            None => EndState::Unseen,
        };
        Known {
            state: under(rules.coverage_window_hours),
            by_window: WINDOWS_HOURS.map(under),
            standard: last.map(|look| look.standard).unwrap_or_default(),
        }
    }
}

/// Where the window before a mating begins: so many hours before it, or before the start of its
/// day where only the day is known (the mating then counts at the day's last microsecond).
pub fn window_start(event: &Event, rules: &Rules) -> i64 {
    starts(event, rules.coverage_window_hours)
}

fn starts(event: &Event, hours: u32) -> i64 {
    let window = i64::from(hours) * HOUR_US;
    let begins = match event.day_minutes {
        0 => event.at,
        minutes => event.at + 1 - i64::from(minutes) * (HOUR_US / 60),
    };
    begins.saturating_sub(window)
}
