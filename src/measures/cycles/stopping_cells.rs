//! How cleaning went on, cycle by cycle, in site-weeks: what the stopping rule is resampled from.

use std::collections::BTreeMap;

use crate::derive::{Cell, DeriveError};
use crate::measures::draw_name::site_week;
use crate::measures::evidence::Evidence;
use crate::measures::table::Group;

/// Cycles that are told apart; the last stands for itself and all after it.
pub(in crate::measures) const CYCLES: usize = 20;

/// What became of end faces at one cycle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::measures) struct AtCycle {
    /// End faces that made it.
    pub made: u64,
    pub passed: u64,
    /// Rejected, or damage uncovered.
    pub rejected: u64,
    /// Left failing after it.
    pub left: u64,
}

/// Cycle 1 first.
pub(in crate::measures) type History = [AtCycle; CYCLES];

/// One group's cycles.
pub(in crate::measures) struct Cleanings {
    pub group: Group,
    /// Names of its site-weeks, rising.
    pub clusters: Vec<u64>,
    /// Place in `clusters`, place in the history, counts.
    parts: Vec<(usize, usize, AtCycle)>,
}

impl Cleanings {
    /// The history with every site-week taken as often as its weight says.
    pub(in crate::measures) fn history(&self, weight: impl Fn(usize) -> u32) -> History {
        let mut history = History::default();
        for (cluster, cycle, part) in &self.parts {
            let times = u64::from(weight(*cluster));
            let add = |sum: &mut u64, n: u64| *sum = sum.saturating_add(n.saturating_mul(times));
            let sum = &mut history[*cycle];
            add(&mut sum.made, part.made);
            add(&mut sum.passed, part.passed);
            add(&mut sum.rejected, part.rejected);
            add(&mut sum.left, part.left);
        }
        history
    }
}

/// The cycles of the months looked back by these columns. By method they are those of visits that had
/// used no other so far, as in the rest of the table.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn cleanings(
    evidence: &Evidence,
    columns: &[&'static str],
) -> Result<Vec<Cleanings>, DeriveError> {
    let by: Vec<&str> = columns.iter().copied().chain(["site", "week", "cycle"]).collect();
    let sums = if columns.contains(&"method") {
        ["same", "same_passed", "same_rejected", "same_left"]
    } else {
        ["trials", "passed", "rejected", "left"]
    };
    let cells = evidence.cells("cycle_trials", &evidence.look_back(), &by, &sums)?;
    let width = columns.len();
    let same = |a: &Cell, b: &Cell| a.group[..width] == b.group[..width];
    Ok(cells
        .chunk_by(same)
        .map(|chunk| of(Group::of(columns, &chunk[0].group), chunk, width))
        .collect())
}

fn of(group: Group, cells: &[Cell], width: usize) -> Cleanings {
    let mut found: BTreeMap<u64, Vec<(usize, AtCycle)>> = BTreeMap::new();
    for cell in cells {
        let [made, passed, rejected, left] =
            std::array::from_fn(|at| cell.sums[at].max(0).unsigned_abs());
        let cycle = cell.places[width + 2] as usize;
        if made > 0 && cycle > 0 {
            let name = site_week(&cell.group[width], cell.places[width + 1]);
            let at = AtCycle { made, passed, rejected, left };
            found.entry(name).or_default().push((cycle.min(CYCLES) - 1, at));
        }
    }
    let clusters: Vec<u64> = found.keys().copied().collect();
    let parts = found.into_values().enumerate();
    let parts =
        parts.flat_map(|(cluster, own)| own.into_iter().map(move |(k, at)| (cluster, k, at)));
    Cleanings { group, clusters, parts: parts.collect() }
}
