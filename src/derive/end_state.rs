//! The state of one end face when it is mated (C1).

use super::calendar::HOUR;
use super::event::{Event, kind, outcome};
use crate::settings::Rules;

/// What was last known of an end, by the time it was mated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
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

/// Follows one end face through its events.
#[derive(Clone, Copy, Debug, Default)]
pub struct Watch {
    /// Time of the last readable look since the last mating, demating or cleaning, and whether it
    /// passed.
    last: Option<(i64, bool)>,
}

impl Watch {
    /// Takes any event but a mating.
    pub fn take(&mut self, event: &Event) {
        match event.kind {
            kind::LOOK => match event.outcome {
                outcome::PASS => self.last = Some((event.at, true)),
                outcome::FAIL => self.last = Some((event.at, false)),
                _ => {}
            },
            kind::CLEANING | kind::DEMATING => self.last = None,
            _ => {}
        }
    }

    /// The state at a mating, which also ends what was known.
    pub fn mate(&mut self, event: &Event, rules: &Rules) -> EndState {
        let from = window_start(event, rules);
        match self.last.take() {
            Some((at, true)) if at >= from => EndState::Seen,
            Some((at, false)) if at >= from => EndState::Failing,
            _ => EndState::Unseen,
        }
    }
}

/// Where the window before a mating begins: so many hours before it, or before the start of its
/// day where only the day is known (the mating then counts at the day's last microsecond).
pub fn window_start(event: &Event, rules: &Rules) -> i64 {
    let window = i64::from(rules.coverage_window_hours) * HOUR;
    let begins = match event.day_minutes {
        0 => event.at,
        minutes => event.at + 1 - i64::from(minutes) * (HOUR / 60),
    };
    begins.saturating_sub(window)
}
