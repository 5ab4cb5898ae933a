//! The test leads of a fleet.

use std::collections::BTreeSet;

use super::event::Minute;

/// The leads of the works and the hours in which each is in use.
#[derive(Debug, Default)]
pub struct Leads {
    /// Index of each lead's end face, family by family.
    pub faces: Vec<usize>,
    taken: BTreeSet<(usize, i64)>,
}

impl Leads {
    /// Takes the first free two hours of a lead from `at` on; returns when they begin.
    pub fn take(&mut self, lead: usize, at: Minute) -> Minute {
        let mut hour = at.div_euclid(60) + 1;
        while self.taken.contains(&(lead, hour)) || self.taken.contains(&(lead, hour + 1)) {
            hour += 1;
        }
        self.taken.insert((lead, hour));
        self.taken.insert((lead, hour + 1));
        hour * 60
    }
}
