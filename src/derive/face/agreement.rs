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
    waiting: Option<Waiting>,
}

/// A look that may be the first of a pair.
#[derive(Clone, Copy)]
struct Waiting {
    at: i64,
    inspector: u32,
    instrument: u32,
    passed: bool,
}

impl Pairing {
    /// Takes a look, and hands over the pair that it closes. One without a readable picture is no event.
    pub fn look(&mut self, event: &Event) -> Option<LookPair> {
        let passed = look_of(event)? == Look::Pass;
        if event.day_minutes != 0 {
            // Known to the day only: what came between this look and the next is not known either.
            self.waiting = None;
            return None;
        }
        let (inspector, instrument) = (event.inspector(), event.device);
        let looked = Waiting { at: event.at, inspector, instrument, passed };
        let first = self.waiting.take().filter(|first| {
            event.at.saturating_sub(first.at) <= LONGEST_US && are_others(*first, looked)
        });
        match first {
            Some(first) => {
                let passed = [first.passed, passed];
                Some(LookPair { at: event.at, site: event.site, passed })
            }
            None => {
                self.waiting = Some(looked);
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
fn are_others(a: Waiting, b: Waiting) -> bool {
    let differ = |a: u32, b: u32| a != 0 && b != 0 && a != b;
    differ(a.inspector, b.inspector) || differ(a.instrument, b.instrument)
}
