//! 5.4, Q4: how often contamination-linked faults occur, and what they cost.
//!
//! All rates rest on counts over the scatter of a site's blocks of time (`scatter`, from `lines`). Sites standardised, recurrences,
//! trend and times to restore have files of their own.

mod connection_months;
mod declared;
mod lines;
mod rates;
mod recurring;
mod restore_times;
mod scatter;
mod standard;
mod trend;

use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;

pub(in crate::measures) use connection_months::{LEAST_MONTHS, MONTH_S};
pub use declared::*;
pub(in crate::measures) use lines::luck;
pub(in crate::measures) use rates::band_days;
pub(in crate::measures) use scatter::BlockFaults;

/// The table of fault rates.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn fault_rates(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let made = BlockFaults::by_horizon(evidence);
    let in_force = BlockFaults::in_force(evidence, |quarter| evidence.is_reviewed(quarter));
    for by in [By::Fleet, By::Stage, By::Family, By::StageFamily, By::Site] {
        rates::by_horizon(evidence, &made, by, &mut table)?;
        rates::in_force(evidence, &in_force, &evidence.reviewed(), by, &mut table)?;
        rates::ratios(evidence, &in_force, by, &mut table)?;
        restore_times::restore_times(evidence, by, &mut table)?;
    }
    standard::sites(evidence, &in_force, &mut table)?;
    rates::dispersion(Quantity::DispersionByHorizon, &made, &mut table);
    rates::dispersion(Quantity::DispersionInForce, &in_force, &mut table);
    let phi = made.of_all(Certainty::Linked).1.phi;
    recurring::recurring_faults(evidence, phi, &mut table)?;
    // The quarters that have no weeks of their own take the scatter of those that are compared.
    let all = BlockFaults::in_force(evidence, |_| true);
    rates::in_force(evidence, &all, &evidence.until_period(), By::Quarter, &mut table)?;
    let phi = all.of_all(Certainty::Linked).1.phi;
    trend::rate_trend(evidence, phi, &mut table)?;
    Ok(table)
}
