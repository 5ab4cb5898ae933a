//! A mating as a row.

use bytemuck::{Pod, Zeroable};

use crate::derive::mating::describe::{Coverage, Mating, Span, at_risk};
use crate::derive::mating::fault::Faults;
use crate::derive::mating::judged::{GradedBy, Judged};
use crate::settings::Rules;

/// Bits of `MatingFact::flags`.
mod flag {
    pub(super) const RESEAT: u8 = 1;
    pub(super) const AFTER_FAULT: u8 = 2;
    pub(super) const DAY_ONLY: u8 = 4;
    pub(super) const OBSERVED: u8 = 8;
    pub(super) const GUESSED_COVER: u8 = 16;
    pub(super) const FAULTS: u8 = 32;
    pub(super) const NEAR_TICKETS: u8 = 64;
}

/// All that is counted of a mating; its faults are found by its number. 80 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct MatingFact {
    number: u64,
    at: i64,
    demated: i64,
    in_force_end: i64,
    observed_from: i64,
    observed_to: i64,
    site: u32,
    family: u32,
    criteria: u32,
    judged_by: u32,
    stage: u8,
    grading: u8,
    coverage: u8,
    unseen: u8,
    ends: u8,
    window_coverage: [u8; 3],
    window_unseen: [u8; 3],
    flags: u8,
    padding: [u8; 4],
}

impl MatingFact {
    /// Of a mating, which has two ends.
    pub fn of(mating: &Mating) -> MatingFact {
        let flags = [
            (mating.reseat, flag::RESEAT),
            (mating.after_fault, flag::AFTER_FAULT),
            (mating.day_only, flag::DAY_ONLY),
            (mating.observed.is_some(), flag::OBSERVED),
            (mating.guessed_cover, flag::GUESSED_COVER),
            (!mating.faults.is_empty(), flag::FAULTS),
            (mating.near_tickets, flag::NEAR_TICKETS),
        ];
        MatingFact {
            number: mating.number,
            at: mating.at,
            demated: mating.demated,
            in_force_end: mating.in_force_end,
            observed_from: mating.observed.map_or(0, |span| span.from),
            observed_to: mating.observed.map_or(0, |span| span.to),
            site: mating.site,
            family: mating.family,
            criteria: mating.criteria,
            judged_by: mating.judged.criteria,
            stage: mating.stage,
            grading: mating.judged.grading.place() as u8,
            coverage: mating.coverage as u8,
            unseen: mating.unseen as u8,
            ends: mating.ends as u8,
            window_coverage: mating.by_window.map(|(coverage, _)| coverage as u8),
            window_unseen: mating.by_window.map(|(_, unseen)| unseen as u8),
            flags: flags.iter().filter(|(set, _)| *set).fold(0, |flags, (_, flag)| flags | flag),
            padding: [0; 4],
        }
    }

    /// The mating again.
    pub fn read<'f>(&self, faults: &'f Faults, rules: &Rules) -> Mating<'f> {
        let has = |flag: u8| self.flags & flag != 0;
        let class =
            |code: u8| Coverage::ALL.get(usize::from(code)).copied().unwrap_or(Coverage::Unknown);
        let observed =
            has(flag::OBSERVED).then_some(Span { from: self.observed_from, to: self.observed_to });
        let of_window =
            |at: usize| (class(self.window_coverage[at]), u32::from(self.window_unseen[at]));
        let grading = GradedBy::ALL.get(usize::from(self.grading)).copied();
        Mating {
            number: self.number,
            at: self.at,
            site: self.site,
            stage: self.stage,
            family: self.family,
            coverage: class(self.coverage),
            unseen: self.unseen.into(),
            ends: self.ends.into(),
            by_window: [0, 1, 2].map(of_window),
            reseat: has(flag::RESEAT),
            demated: self.demated,
            after_fault: has(flag::AFTER_FAULT),
            criteria: self.criteria,
            judged: Judged {
                criteria: self.judged_by,
                grading: grading.unwrap_or(GradedBy::Unknown),
            },
            day_only: has(flag::DAY_ONLY),
            in_force_end: self.in_force_end,
            at_risk: at_risk(self.at, observed, rules),
            observed,
            guessed_cover: has(flag::GUESSED_COVER),
            faults: if has(flag::FAULTS) { faults.of_mating(self.number) } else { &[] },
            near_tickets: has(flag::NEAR_TICKETS),
        }
    }
}
