//! How cleaning went on, cycle by cycle, in site-weeks or longer blocks of a site's time that share their luck: what the
//! stopping rule is resampled from.

use std::collections::BTreeMap;

use crate::derive::counts::{CycleNo, CycleTrials, Site, WeekNo, cycle_trials};
use crate::derive::{Along, ByColumns, DeriveError};
use crate::measures::draw_name::site_week;
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::measures::shared_luck::{block_of, of_cycles};
use crate::stats::Span;

/// Cycles that are told apart; the last stands for itself and all after it.
pub(in crate::measures) const CYCLES: usize = 20;

/// What became of end faces at one cycle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::measures) struct AtCycle {
    /// End faces that made it.
    pub made: u64,
    /// Passed the look after it.
    pub passed: u64,
    /// Damage uncovered, or rejected for another reason than dirt.
    pub rejected: u64,
    /// Given up contaminated after it: left failing, or rejected.
    pub left: u64,
}

/// Cycle 1 first.
pub(in crate::measures) type History = [AtCycle; CYCLES];

/// One group's cycles.
pub(in crate::measures) struct Cleanings {
    /// Its words.
    pub group: Group,
    /// Names of its clusters, rising.
    pub clusters: Vec<u64>,
    /// Place in `clusters`, rising; place in the history, counts.
    parts: Vec<(usize, usize, AtCycle)>,
}

impl Cleanings {
    /// The history as it was recorded.
    pub(in crate::measures) fn history(&self) -> History {
        let mut history = History::default();
        for (_, cycle, part) in &self.parts {
            let add = |sum: &mut u64, n: u64| *sum = sum.saturating_add(n);
            let sum = &mut history[*cycle];
            add(&mut sum.made, part.made);
            add(&mut sum.passed, part.passed);
            add(&mut sum.rejected, part.rejected);
            add(&mut sum.left, part.left);
        }
        history
    }

    /// Place in `clusters`, place in the history, counts.
    pub(in crate::measures) fn parts(&self) -> impl Iterator<Item = (usize, usize, AtCycle)> + '_ {
        self.parts.iter().copied()
    }
}

/// Which cycles of a cell count.
pub(in crate::measures) type Counting = fn(&cycle_trials::Row) -> AtCycle;

/// All of them.
pub(in crate::measures) fn of_all(row: &cycle_trials::Row) -> AtCycle {
    at_cycle(row.trials, row.passed, row.rejected, row.left)
}

/// Those of visits that had used no other method so far.
pub(in crate::measures) fn of_one_method(row: &cycle_trials::Row) -> AtCycle {
    at_cycle(row.same, row.same_passed, row.same_rejected, row.same_left)
}

fn at_cycle(made: i64, passed: i64, rejected: i64, left: i64) -> AtCycle {
    let count = |figure: i64| figure.max(0).unsigned_abs();
    AtCycle {
        made: count(made),
        passed: count(passed),
        rejected: count(rejected),
        left: count(left),
    }
}

/// The cycles of the months looked back, group by group.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn cleanings(
    evidence: &Evidence,
    columns: &ByColumns<CycleTrials>,
    counting: Counting,
) -> Result<Vec<Cleanings>, DeriveError> {
    let span = of_cycles(evidence).span;
    let columns_of = columns.columns();
    let width = columns_of.len();
    let within = columns.and::<Site>().and::<WeekNo>();
    let weeks = evidence.along::<CycleNo, CycleTrials>(&evidence.looked_back(), &within)?;
    let groups = weeks.chunk_by(|a, b| a.places[..width] == b.places[..width]);
    let of = |weeks: &[Along<CycleTrials, CycleNo>]| {
        let group = Group::of(&columns_of, &weeks[0].words[..width]);
        of_weeks(group, weeks, counting, span)
    };
    Ok(groups.map(of).collect())
}

/// The clusters of one group, whose grouping ends in the site and the week.
fn of_weeks(
    group: Group,
    weeks: &[Along<CycleTrials, CycleNo>],
    counting: Counting,
    span: Span,
) -> Cleanings {
    let mut found: BTreeMap<u64, Vec<(usize, AtCycle)>> = BTreeMap::new();
    for own in weeks {
        let ([.., site, _], [.., week]) = (own.words.as_slice(), own.places.as_slice()) else {
            continue;
        };
        for (cycle, row) in &own.cells {
            let at = counting(row);
            if at.made > 0 && cycle.0 > 0 {
                let place = (cycle.0 as usize).min(CYCLES) - 1;
                found.entry(site_week(site, block_of(span, *week))).or_default().push((place, at));
            }
        }
    }
    let clusters: Vec<u64> = found.keys().copied().collect();
    let parts = found.into_values().enumerate();
    let parts =
        parts.flat_map(|(cluster, own)| own.into_iter().map(move |(k, at)| (cluster, k, at)));
    Cleanings { group, clusters, parts: parts.collect() }
}
