//! The cycles of the months looked back with what may explain them, as numbers.

use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;

/// Cycles of one site-week that are alike in everything that is kept of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::measures) struct Trial {
    /// The site-week.
    pub cluster: u64,
    /// Places in the order of display, by [`FACTORS`]: stage, family, zone, method.
    pub places: [u32; 4],
    /// Number of the cycle, from 1.
    pub cycle: u32,
    pub trials: u64,
    pub passed: u64,
    pub cleanings: u64,
}

/// The columns behind [`Trial::places`].
pub(in crate::measures) const FACTORS: [&str; 4] = ["stage", "family", "zone", "method"];

/// All of them, in the order of display.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn cycle_trials(evidence: &Evidence) -> Result<Vec<Trial>, DeriveError> {
    let [stage, family, zone, method] = FACTORS;
    let by = ["site", "week", stage, family, zone, method, "cycle"];
    let sums = ["trials", "passed", "cleanings"];
    let cells = evidence.cells("cycle_trials", &evidence.look_back(), &by, &sums)?;
    let trial = |cell: &crate::derive::Cell| {
        let sum = |at: usize| cell.sums[at].max(0) as u64;
        Trial {
            cluster: u64::from(cell.places[0]) << 32 | u64::from(cell.places[1]),
            places: std::array::from_fn(|at| cell.places[2 + at]),
            cycle: cell.places[6],
            trials: sum(0),
            passed: sum(1),
            cleanings: sum(2),
        }
    };
    Ok(cells.iter().map(trial).filter(|trial| trial.trials > 0).collect())
}
