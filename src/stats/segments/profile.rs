//! Profile-likelihood limits of a segment's hazard, also on the boundary.
//!
//! Promises limits for every group that somebody passes: a hazard that the rows do not determine has
//! limits and no value. Stops at one group at a time.

use std::cell::Cell;

use super::climb::{CAP, climb};
use super::hazard::{STEEP, SegmentFit};
use super::likelihood::gain;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::{chi_square_upper, normal_quantile};
use crate::stats::special::root::root_within;
use crate::stats::wald::Basis;

/// How near limits are sought, as a share of the largest exposure's hazard.
const NEAR: f64 = 1e-10;

/// A hazard and the chance `1 - exp(-hazard)` of an event at one exposure, with the same limits.
#[derive(Clone, Debug, PartialEq)]
pub struct SegmentInterval {
    /// Hazard per unit of exposure, at least 0; without an upper limit, or a value, where the event may
    /// be certain.
    pub hazard: Estimate,
    /// Chance of an event at an exposure of 1, in [0, 1].
    pub chance: Estimate,
}

impl SegmentInterval {
    /// With limits that also hold what moves the hazard to these at the ends of its own interval, below and above: each limit
    /// lies the root of the sum of both squared distances from the value. None moves nothing.
    ///
    /// Source: Zou & Donner (2008), Stat. Med. 27, 1693-1702, for a difference of independent estimates from their limits [from
    /// memory].
    #[must_use]
    pub fn beside(self, [below, above]: [Option<f64>; 2]) -> SegmentInterval {
        let Some(value) = self.hazard.value else { return self };
        let far = |limit: Option<f64>, other: Option<f64>| {
            limit.map(|limit| (limit - value).hypot(other.map_or(0.0, |other| other - value)))
        };
        let low = far(self.hazard.low, below).map(|far| (value - far).max(0.0));
        let high = far(self.hazard.high, above).map(|far| value + far);
        let share = |hazard: f64| -(-hazard).exp_m1();
        let SegmentInterval { hazard, chance } = self;
        SegmentInterval {
            chance: Estimate {
                low: low.map(share).or(chance.low),
                high: high.map(share).or(chance.high),
                ..chance
            },
            hazard: Estimate { low, high, ..hazard },
        }
    }
}

impl SegmentFit {
    /// Value and limits of the sum of a group's hazards at `level`; the deviance that the limits
    /// allow is multiplied by `inflation` (at least 1: clusters).
    ///
    /// A hazard of 0 has the lower limit 0. Profile of one parameter against chi-square with one
    /// degree of freedom, also at the boundary, where that is cautious (Self & Liang 1987).
    ///
    /// Source: Venzon & Moolgavkar (1988), Appl. Stat. 37, 87-94, for profile likelihood; Royall & Tsou
    /// (2003), J. R. Stat. Soc. B 65, 391-404, for its adjustment to clusters [both from memory].
    pub fn interval(&self, group: usize, level: f64, inflation: f64) -> SegmentInterval {
        let allowed = normal_quantile(level).powi(2) * input::amount(inflation).max(1.0);
        let arrived = Cell::new(self.converged);
        let deviance = |at: f64| {
            let (deviance, sound) = self.deviance(group, at);
            arrived.set(arrived.get() && sound);
            deviance
        };
        let best = self.at[group];
        let low = if self.is_zero(group) || deviance(0.0) <= allowed {
            0.0
        } else {
            root_within(|at| allowed - deviance(at), 0.0, best, NEAR)
        };
        let high = upper(best, allowed, &deviance).map_or(f64::INFINITY, |high| high.max(best));
        let (n, events) = self.passing(group);
        let known = self.is_identified(group);
        let certain = self.is_certain(group);
        let applies = [
            (!arrived.get(), Warning::NotConverged),
            (self.is_zero(group) || certain, Warning::Boundary),
        ];
        let warnings = applies.into_iter().filter(|(applies, _)| *applies).map(|(_, w)| w);
        let basis = Basis {
            n,
            events: events.round() as u64,
            level,
            method: "profile likelihood",
            warnings: warnings.collect(),
        };
        let scale = self.scale[group];
        let (low, value, high) = (low.min(best) / scale, self.hazard(group), high / scale);
        let share = |hazard: f64| -(-hazard).exp_m1();
        let hazard = known.then_some(value).filter(|_| !certain);
        let chance = known.then_some(if certain { 1.0 } else { share(value) });
        SegmentInterval {
            hazard: basis.clone().limits(hazard, Some(low), Some(high)),
            chance: basis.limits(chance, Some(share(low)), Some(share(high))),
        }
    }

    /// One-sided p of the likelihood ratio of a group's hazard against 0, halved since 0 is the
    /// boundary (Self & Liang 1987, J. Am. Stat. Assoc. 82, 605-610, case 5 [case from memory]).
    pub fn against_zero(&self, group: usize, inflation: f64) -> f64 {
        let lost = self.deviance(group, 0.0).0 / input::amount(inflation).max(1.0);
        if lost > 0.0 { 0.5 * chi_square_upper(lost, 1.0) } else { 1.0 }
    }

    /// Twice the log-likelihood lost with a group held at `at`, and whether the climb arrived.
    fn deviance(&self, group: usize, at: f64) -> (f64, bool) {
        let Some(part) = self.parts.iter().find(|part| part.groups.contains(&group)) else {
            return (0.0, true);
        };
        let patterns = self.part_patterns(part);
        // A neighbour at 0 must be able to take over the events.
        let begin = |member: &usize| {
            if *member == group { at } else { self.at[*member].clamp(1e-3, STEEP) }
        };
        let start: Vec<f64> = part.groups.iter().map(begin).collect();
        let possible = patterns.iter().all(|p| p.events <= 0.0 || p.hazard(&start) > 0.0);
        if !possible {
            return (f64::INFINITY, true);
        }
        let held = part.groups.iter().position(|member| *member == group);
        let top = climb(&patterns, &start, held);
        let best: Vec<f64> = part.rows.iter().map(|row| self.hazards[*row]).collect();
        ((-2.0 * gain(&patterns, &best, &top.hazards)).max(0.0), top.arrived)
    }
}

/// Where the deviance passes what is allowed, above `best`; none before the cap.
fn upper(best: f64, allowed: f64, deviance: &impl Fn(f64) -> f64) -> Option<f64> {
    let (mut near, mut step) = (best, (0.5 * best).max(1e-3));
    while near < CAP {
        let far = (near + step).min(CAP);
        if deviance(far) > allowed {
            return Some(root_within(|at| deviance(at) - allowed, near, far, NEAR));
        }
        (near, step) = (far, 2.0 * step);
    }
    None
}
