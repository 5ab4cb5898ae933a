//! Recording that follows what it records: looks made where dirt is suspected, passing looks that are not written down,
//! tickets lost by coverage. A check each, and what each fault would do to the headline of skipped cost if it were as strong
//! as stated (Lash, Fox & Fink 2009, Applying Quantitative Bias Analysis to Epidemiologic Data).
//!
//! No check proves its fault: a site that grows careless has fewer looks and more dirt too. A check that is silent does not
//! clear the records either: a fault that is alike everywhere moves nothing against anything. So what is stated is shown
//! whether or not a check speaks.

mod cells;
mod chosen;
mod headline;
mod passing;
mod per_mating;
mod tickets;

use super::declared::{By, Own, Quantity, Recording, Row, Table};
use super::sources::Sources;
use crate::derive::DeriveError;
use crate::measures::results::Group;
use crate::stats::within::WithinSlope;
use cells::LookedAtCells;
use headline::Headline;

/// Largest two-sided p value with which a check speaks: of the handful of checks in a hundred clean fleets about one does.
const SPEAKS: f64 = 0.005;

/// Adds the rows.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let cells = LookedAtCells::of(from.evidence)?;
    let headline = Headline::of(from, &cells)?;
    chosen::rows(from, &cells, table);
    passing::rows(from, &cells, table);
    per_mating::rows(from, &cells, table);
    tickets::rows(from, table)?;
    headline.rows(table);
    Ok(())
}

/// A difference inside strata of the whole fleet. `means` says whether a slope means the fault.
fn difference(
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
