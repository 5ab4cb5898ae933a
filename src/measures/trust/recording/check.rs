//! When a check speaks.

use super::super::declared::{By, Own, Quantity, Recording, Row};
use crate::measures::results::Group;
use crate::stats::within::WithinSlope;

/// Largest two-sided p value with which a check speaks: of a hundred clean fleets one hears it at most.
pub(super) const SPEAKS: f64 = 0.005;

/// A difference inside strata of the whole fleet. `means` says whether a slope means the fault.
pub(super) fn difference(
    quantity: Quantity,
    recording: Recording,
    found: &WithinSlope,
    means: impl Fn(f64) -> bool,
) -> Row {
    let chance = found.p.is_some_and(|p| p > SPEAKS);
    let own = Own {
        recording: Some(recording),
        suspected: found.p.map(|_| !chance && found.slope.value.is_some_and(means)),
        p: found.p,
        ..Own::default()
    };
    Row::of(By::Fleet, Group::default(), quantity, &found.slope, own)
}
