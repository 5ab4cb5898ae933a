//! From when to when matings are at risk in 5.5, and what pass two finds out for the risk sets: when faults came (and reseats),
//! and which matings have other faults under other windows of tickets. Stops at one mating.

use serde::{Deserialize, Serialize};

use super::describe::{Coverage, Mating, Span};
use super::follow_up::{Definition, Followed, Following};
use super::risk_times::{RiskStratum, RiskTimes};
use super::variant::{HORIZONS_DAYS, Variant};
use crate::calendar::{DAY_US, SECOND_US};
use crate::derive::share::states::State;
use crate::settings::Rules;

/// Seconds since mating.
fn since(mating: &Mating, at: i64) -> u32 {
    u32::try_from((at - mating.at).max(0) / SECOND_US).unwrap_or(u32::MAX)
}

/// The span at risk to the longest horizon under which 5.5 is counted.
fn longest(mating: &Mating, rules: &Rules) -> Option<Span> {
    let days = HORIZONS_DAYS.into_iter().fold(rules.horizon_days, u32::max);
    let end = mating.at.saturating_add(i64::from(days) * DAY_US);
    let span = mating.observed.filter(|span| span.from <= end)?;
    Some(Span { from: span.from, to: span.to.min(end) })
}

/// From when to when a mating is at risk, seconds since it was made, both included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AtRisk {
    /// First.
    pub from: u32,
    /// Last.
    pub to: u32,
    /// A fault ended it.
    pub by_fault: bool,
}

impl AtRisk {
    /// To the first fault of a definition, or to the end of follow-up; none where there is no follow-up or a fault came
    /// before it began (F3).
    pub fn of(mating: &Mating, definition: Definition, rules: &Rules) -> Option<AtRisk> {
        let span = longest(mating, rules)?;
        let followed = Followed::of(mating, span, |fault| definition.holds(fault))?;
        Some(AtRisk {
            from: since(mating, followed.span.from),
            to: since(mating, followed.span.to),
            by_fault: followed.by_fault,
        })
    }

    /// The same under a rule by which suspect faults count, and a reseat as one more at the demating.
    pub fn with_reseats(mating: &Mating, rules: &Rules) -> Option<AtRisk> {
        let at_risk = AtRisk::of(mating, Definition::Suspect, rules)?;
        let demated = since(mating, mating.demated);
        // Nobody is followed beyond the demating, and a reseat has no fault shortly before it.
        let reseated = mating.reseat && at_risk.to == demated;
        Some(AtRisk { by_fault: at_risk.by_fault || reseated, ..at_risk })
    }

    /// Places among the times at which it is at risk: the first, and one beyond the last. None if it never is.
    pub fn places(&self, times: &[u32]) -> Option<(usize, usize)> {
        let first = times.partition_point(|time| *time < self.from);
        let beyond = times.partition_point(|time| *time <= self.to);
        (first < beyond).then_some((first, beyond))
    }
}

/// A mating that under another window of tickets has other faults.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Moved {
    /// The window.
    pub variant: Variant,
    /// Where it is compared, not being made after a fault.
    pub stratum: RiskStratum,
    /// What was known of its ends.
    pub coverage: Coverage,
    /// Until its first linked fault as the rules have it; none where it was made after a fault.
    pub ruled: Option<AtRisk>,
    /// The same under the window.
    pub other: Option<AtRisk>,
}

/// What pass two finds.
#[derive(Debug, Default, Serialize, Deserialize)]
pub struct Found {
    times: Vec<(RiskStratum, u32)>,
    moved: Vec<Moved>,
    reseats: Vec<(RiskStratum, u32)>,
}

impl Found {
    /// Takes down the faults of a mating.
    pub fn see(&mut self, mating: &Mating, with: &Following) {
        let quarter = with.looked_back(mating.at).filter(|_| !with.is_dark(mating.stage));
        let (Some(quarter), Some(span)) = (quarter, longest(mating, with.rules)) else { return };
        let stratum = RiskStratum::of(mating, quarter);
        let inside = mating.faults.iter().filter(|f| (span.from..=span.to).contains(&f.at));
        self.times.extend(inside.map(|fault| (stratum, since(mating, fault.at))));
    }

    /// Takes down when a reseat counts as a fault, or a suspect fault does.
    pub fn see_reseat(&mut self, mating: &Mating, with: &Following) {
        let quarter = with.looked_back(mating.at).filter(|_| !with.is_dark(mating.stage));
        let Some(quarter) = quarter.filter(|_| !mating.after_fault) else { return };
        let ended = AtRisk::with_reseats(mating, with.rules).filter(|at_risk| at_risk.by_fault);
        let stratum = RiskStratum::of(mating, quarter);
        self.reseats.extend(ended.map(|at_risk| (stratum, at_risk.to)));
    }

    /// Takes down what another window of tickets makes of a mating.
    pub fn see_moved(&mut self, [mating, other]: [&Mating; 2], variant: Variant, with: &Following) {
        if (mating.after_fault, mating.faults) == (other.after_fault, other.faults) {
            return;
        }
        let quarter = with.looked_back(mating.at).filter(|_| !with.is_dark(mating.stage));
        let Some(quarter) = quarter else { return };
        let [ruled, under] = [mating, other].map(|mating| {
            AtRisk::of(mating, Definition::Linked, with.rules).filter(|_| !mating.after_fault)
        });
        let stratum = RiskStratum { after_fault: false, ..RiskStratum::of(mating, quarter) };
        let fault = under.filter(|under| under.by_fault);
        self.times.extend(fault.map(|under| (stratum, under.to)));
        let coverage = mating.coverage;
        self.moved.push(Moved { variant, stratum, coverage, ruled, other: under });
    }

    /// Adds what another thread found.
    pub fn add(&mut self, other: Found) {
        self.times.extend(other.times);
        self.moved.extend(other.moved);
        self.reseats.extend(other.reseats);
    }

    /// The times in their order, of faults and where reseats count too, and the matings that are moved.
    pub fn finish(self) -> ([RiskTimes; 2], Vec<Moved>) {
        ([self.times, self.reseats].map(RiskTimes::of), self.moved)
    }
}

impl State for Found {
    fn merge(mut self, other: Found) -> Found {
        self.add(other);
        self
    }
}
