//! Pairs of looks that two people or two instruments took of one end face, one right after the other (5.10).

use super::event::Event;
use super::visit::Look;
use super::visits::look_of;
use crate::calendar::HOUR_US;

/// Longest time from the first look of a pair to the second.
const LONGEST_US: i64 = HOUR_US / 4;

/// Two looks in a row at one end face by different people or instruments: no cleaning, mating or demating between, a
/// quarter of an hour at most.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LookPair {
    /// When the second was taken, microseconds UTC.
    pub at: i64,
    /// Code of the site of the second.
    pub site: u32,
    /// What the first and the second said: whether it passed.
    pub passed: [bool; 2],
}

/// Follows the looks of one end face; each is in one pair at most, the earlier pair first.
#[derive(Default)]
pub struct Pairing {
    waiting: Option<Event>,
}

impl Pairing {
    /// Takes a readable look known to the instant; any other look leaves what waits as it is. The pair that it closes.
    pub fn look(&mut self, event: &Event) -> Option<LookPair> {
        let passed = |look: &Event| look_of(look) == Some(Look::Pass);
        look_of(event)?;
        if event.day_minutes != 0 {
            // Known to the day only: what came between this look and the next is not known either.
            self.waiting = None;
            return None;
        }
        let first = self.waiting.take().filter(|first| {
            event.at.saturating_sub(first.at) <= LONGEST_US && are_others(first, event)
        });
        match first {
            Some(first) => {
                let passed = [passed(&first), passed(event)];
                Some(LookPair { at: event.at, site: event.site, passed })
            }
            None => {
                self.waiting = Some(*event);
                None
            }
        }
    }

    /// Takes a cleaning, a mating or a demating: no pair reaches over it.
    pub fn other(&mut self) {
        self.waiting = None;
    }
}

/// Whether two looks are known to be of different people, or of different instruments.
fn are_others(a: &Event, b: &Event) -> bool {
    let differ = |a: u32, b: u32| a != 0 && b != 0 && a != b;
    differ(a.inspector(), b.inspector()) || differ(a.device, b.device)
}
