//! The share passed and rejected by cycle, and the chance of passing at each (5.2).
//!
//! Left failing is censored in one reading and competing in the other, since people may give up because
//! dirt is stubborn: the two bracket the truth. Aalen-Johansen by influence sums over site-weeks, or over longer blocks
//! where the luck of cycles lasts longer, hazards exact on effective size: visits of one work order share their luck, and
//! its work lies within a site-week.

use super::declared::{Bracket, By, Own, Quantity, Row, Table};
use crate::derive::counts::{CycleNo, Cycles, Site, WeekNo, cycles};
use crate::derive::{Along, ByColumns, DeriveError, Rows};
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates::Block;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::measures::shared_luck::{block, of_cycles};
use crate::stats::competing::Median;
use crate::stats::{Incidence, Step, aalen_johansen_clustered};

/// Cycles that rows are printed for.
pub(in crate::measures) const MOST_CYCLES: usize = 20;

/// Visits of one cycle by how they left.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::measures) struct Left {
    /// Passed at this cycle.
    pub passed: u64,
    /// Rejected after it, or damage uncovered.
    pub rejected: u64,
    /// Left failing otherwise.
    pub failing: u64,
    /// Nothing more is known of them.
    pub unknown: u64,
}

impl Left {
    fn add(&mut self, other: &Left) {
        let add = |sum: &mut u64, count: u64| *sum = sum.saturating_add(count);
        add(&mut self.passed, other.passed);
        add(&mut self.rejected, other.rejected);
        add(&mut self.failing, other.failing);
        add(&mut self.unknown, other.unknown);
    }

    fn of(row: &cycles::Row) -> Left {
        let count = |figure: i64| figure.max(0).unsigned_abs();
        Left {
            passed: count(row.passed),
            rejected: count(row.rejected),
            failing: count(row.left),
            unknown: count(row.censored),
        }
    }
}

/// The visits of one group by the cycle at which they left, cycle 0 first.
pub(in crate::measures) struct Exits {
    /// Its words.
    pub group: Group,
    /// By cycle, in every cluster; all reach to the group's last cycle.
    pub by_cluster: Vec<Vec<Left>>,
    /// Luck lasts longer than the clusters, of which there would be too few.
    pub narrow: Option<Flag>,
}

/// The exits of every group.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn exits(
    evidence: &Evidence,
    rows: &Rows<Cycles>,
    columns: &ByColumns<Cycles>,
) -> Result<Vec<Exits>, DeriveError> {
    let columns_of = columns.columns();
    let width = columns_of.len();
    let within = columns.and::<Site>().and::<WeekNo>();
    let weeks = evidence.along::<CycleNo, Cycles>(rows, &within)?;
    let groups = weeks.chunk_by(|a, b| a.places[..width] == b.places[..width]);
    let wanted = block(of_cycles(evidence).span).unwrap_or(Block::Week);
    let least = evidence.rules().few_clusters as usize;
    let of = |weeks: &[Along<Cycles, CycleNo>]| {
        let cycles = weeks.iter().flat_map(|week| &week.cells).map(|(cycle, _)| cycle.0);
        let last = cycles.max().unwrap_or(0) as usize;
        let of_cluster = |weeks: &[Along<Cycles, CycleNo>]| {
            let mut by_cycle = vec![Left::default(); last + 1];
            for (cycle, row) in weeks.iter().flat_map(|week| &week.cells) {
                by_cycle[cycle.0 as usize].add(&Left::of(row));
            }
            by_cycle
        };
        // Places end in the site and the week.
        let of_length = |block: Block| -> Vec<Vec<Left>> {
            let at = |week: &Along<Cycles, CycleNo>| {
                let (week, site) = (week.places.last(), &week.places[..=width]);
                (site.to_vec(), week.map(|week| block.of_week(*week)))
            };
            weeks.chunk_by(|a, b| at(a) == at(b)).map(of_cluster).collect()
        };
        let (by_cluster, found) =
            wanted.that_tell(of_length, |_, clusters| clusters.len() >= least);
        let narrow = (found != wanted).then_some(Flag::Narrow);
        let group = Group::of(&columns_of, &weeks[0].words[..width]);
        Exits { group, by_cluster, narrow }
    };
    Ok(groups.map(of).collect())
}

fn incidence(exits: &Exits, bracket: Bracket, level: f64) -> Incidence {
    let step = |left: &Left| {
        let Left { passed, rejected, failing, unknown } = *left;
        match bracket {
            Bracket::Competing => {
                Step { events: passed, competing: vec![rejected, failing], censored: unknown }
            }
            Bracket::Censored => {
                let censored = unknown.saturating_add(failing);
                Step { events: passed, competing: vec![rejected], censored }
            }
        }
    };
    let of_cluster = |own: &Vec<Left>| own.iter().map(step).collect();
    let clusters: Vec<Vec<Step>> = exits.by_cluster.iter().map(of_cluster).collect();
    aalen_johansen_clustered(&clusters, level)
}

/// Adds passed and rejected by cycle, the hazards, and the median, under both brackets.
pub(in crate::measures) fn incidence_rows(
    evidence: &Evidence,
    by: By,
    exits: &Exits,
    table: &mut Table,
) {
    let least = f64::from(evidence.rules().least_count);
    let thin = |n: f64| (n < least).then_some(Flag::Thin);
    let group = &exits.group;
    for bracket in Bracket::ALL.iter().copied() {
        let incidence = incidence(exits, bracket, evidence.rules().level);
        let visits = incidence.rows.first().map_or(0, |row| row.at_risk);
        let n = visits as f64;
        for (cycle, at) in (0..).zip(&incidence.rows).take(MOST_CYCLES + 1) {
            let own = Own {
                cycle: Some(cycle),
                at_risk: Some(at.at_risk),
                bracket: Some(bracket),
                ..Own::default()
            };
            let share = |quantity, share, own| {
                let row = Row::of(by, group.clone(), quantity, share, own);
                Row { n, ..row }.flagged(thin(n)).flagged(exits.narrow)
            };
            let rejected = at.competing.first();
            let value = rejected.and_then(|share| share.value).filter(|value| value.is_finite());
            let passed = Own { rejected: value, ..own.clone() };
            table.rows.push(share(Quantity::PassedByCycle, &at.event, passed));
            table.rows.extend(
                rejected.map(|rejected| share(Quantity::RejectedByCycle, rejected, own.clone())),
            );
            if cycle > 0 && bracket == Bracket::Censored {
                let hazard = Row::of(by, group.clone(), Quantity::Hazard, &at.hazard, own);
                table.rows.push(hazard.flagged(thin(at.at_risk as f64)).flagged(exits.narrow));
            }
        }
        let median = median_row((by, group), bracket, visits, incidence.median);
        table.rows.push(median.flagged(thin(n)).flagged(exits.narrow));
    }
}

/// The cycle by which half have passed, with the cycles between which it lies.
fn median_row((by, group): (By, &Group), bracket: Bracket, visits: u64, median: Median) -> Row {
    let cycle = |value: Option<usize>| value.map(|cycle| cycle as f64);
    let own = Own { at_risk: Some(visits), bracket: Some(bracket), ..Own::default() };
    let (quantity, method) = (Quantity::MedianCycles, "Aalen-Johansen median");
    let row = Row::figure(by, group.clone(), quantity, f64::NAN, method, own);
    Row {
        n: visits as f64,
        estimate: cycle(median.value),
        low: cycle(median.low),
        high: cycle(median.high),
        ..row
    }
}
