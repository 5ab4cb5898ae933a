//! Recording that follows what it records: looks made where dirt is suspected, passing looks that are not written down,
//! tickets lost by coverage. A check each, and what each fault would do to the headline of skipped cost if it were as strong
//! as stated (Lash, Fox & Fink 2009, Applying Quantitative Bias Analysis to Epidemiologic Data).
//!
//! No check proves its fault: a site that grows careless has fewer looks and more dirt too. A check that is silent does not
//! clear the records either: a fault that is alike everywhere moves nothing against anything. So what is stated is shown
//! whether or not a check speaks.

mod cells;
mod check;
mod chosen;
mod headline;
mod passing;
mod per_mating;
mod tickets;

use super::declared::Table;
use super::sources::Sources;
use crate::derive::DeriveError;
use cells::LookedAtCells;
use headline::Headline;

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
