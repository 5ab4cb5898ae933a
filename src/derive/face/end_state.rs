//! The state of one end face when it is mated (C1).

use super::event::{Event, kind};
use crate::derive::calendar::pieces::HOUR;
use crate::records::Outcome;
use crate::settings::Rules;

/// Windows before a mating under which its ends are judged in addition to that of the rules, hours: the
/// sensitivity of 5.5.
pub const WINDOWS_HOURS: [u32; 3] = [8, 24, 72];

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
            kind::LOOK => match event.outcome() {
                Some(Outcome::Pass) => self.last = Some((event.at, true)),
                Some(Outcome::Fail) => self.last = Some((event.at, false)),
                Some(Outcome::Unreadable) | None => {}
            },
            kind::CLEANING | kind::DEMATING => self.last = None,
            _ => {}
        }
    }

    /// The state at a mating under the window of the rules and under each of [`WINDOWS_HOURS`];
    /// the mating also ends what was known.
    pub fn mate(&mut self, event: &Event, rules: &Rules) -> (EndState, [EndState; 3]) {
        let last = self.last.take();
        let under = |hours: u32| match last {
            Some((at, true)) if at >= starts(event, hours) => EndState::Seen,
            Some((at, false)) if at >= starts(event, hours) => EndState::Failing,
            _ => EndState::Unseen,
        };
        (under(rules.coverage_window_hours), WINDOWS_HOURS.map(under))
    }
}

/// Where the window before a mating begins: so many hours before it, or before the start of its
/// day where only the day is known (the mating then counts at the day's last microsecond).
pub fn window_start(event: &Event, rules: &Rules) -> i64 {
    starts(event, rules.coverage_window_hours)
}

fn starts(event: &Event, hours: u32) -> i64 {
    let window = i64::from(hours) * HOUR;
    let begins = match event.day_minutes {
        0 => event.at,
        minutes => event.at + 1 - i64::from(minutes) * (HOUR / 60),
    };
    begins.saturating_sub(window)
}
