//! 5.2, Q2: how many cleaning cycles until end faces pass.
//!
//! Visits whose first look failed for contamination, by cycle: passed; rejected (or damage
//! uncovered) as a competing event; the rest censored.

mod by_cycle;
mod declared;
mod design;
mod fits;
mod harm;
mod labour;
mod odds;
mod stopping;
mod stopping_cells;
mod stopping_draws;
mod trials;
mod unseen_cleanings;
mod without_carriers;

use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Cycles, Family, Method, Stage, View};
use crate::measures::evidence::Evidence;

use trials::Trials;

pub use declared::*;
pub use odds::Contrast;
pub(in crate::measures) use odds::contrast;
pub(in crate::measures) use without_carriers::{ToolCycles, without_carriers};

/// The table of cycles.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn cycles(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let all = evidence.looked_back::<Cycles>().with([View::All]);
    let by_method = evidence.looked_back::<Cycles>().with([View::Method]);
    for (by, rows, columns) in [
        (By::Fleet, &all, by!()),
        (By::Treatment, &by_method, by!(Method)),
        (By::Stage, &all, by!(Stage)),
        (By::Family, &all, by!(Family)),
    ] {
        for exits in by_cycle::exits(evidence, rows, &columns)? {
            by_cycle::incidence_rows(evidence, by, &exits, &mut table);
            if matches!(by, By::Fleet | By::Treatment) {
                fits::fit_rows(evidence, by, &exits, &mut table);
            }
        }
    }
    let trials = Trials::of(evidence);
    labour::beyond_practice(evidence, &trials, &mut table);
    odds::odds_and_curves(evidence, &trials, &mut table);
    harm::cleanings(evidence, &mut table)?;
    harm::begun_unseen(evidence, &mut table)?;
    unseen_cleanings::unseen_cleanings(evidence, &mut table)?;
    stopping::stopping(evidence, &mut table)?;
    Ok(table)
}
