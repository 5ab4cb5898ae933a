//! Linked faults that come back (5.4): the mean number a mating has had by each day since it was made,
//! first or not, and how many were not the first.
//!
//! Of the matings of the look-back that were followed from their first moment on. Nelson's mean
//! cumulative function (1988); its variance allows for faults of one mating that come together, and is
//! multiplied by the scatter of site-weeks.

use super::own;
use crate::derive::{Cell, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{
    Estimate, GroupedHistories, garwood_dispersed, grouped_mean_cumulative, wilson,
};

/// Groupings of the mean at the horizon; the fleet has the whole curve.
const GROUPINGS: &[crate::measures::evidence::Grouping] = &[
    ("fleet", &[]),
    ("stage", &["stage"]),
    ("family", &["family"]),
    ("stage+family", &["stage", "family"]),
];
const QUANTITY: &str = "mean-cumulative-faults";

/// Adds the curve of the fleet, the mean at the horizon of every group, and the share of repeats.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn recurring_faults(
    evidence: &Evidence,
    phi: f64,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let only = evidence.look_back();
    for (by, columns) in GROUPINGS {
        let depth = columns.len();
        let days: Vec<&str> = columns.iter().copied().chain(["day"]).collect();
        let pairs: Vec<&str> = columns.iter().copied().chain(["day", "with_day"]).collect();
        let watched = evidence.cells("watched", &only, &days, &["matings"])?;
        let faults =
            evidence.cells("recurrences", &only, &pairs, &["pairs", "faults", "firsts"])?;
        for chunk in watched.chunk_by(|a, b| a.places[..depth] == b.places[..depth]) {
            let place = &chunk[0].places[..depth];
            let own: Vec<&Cell> =
                faults.iter().filter(|cell| cell.places[..depth] == *place).collect();
            let group = Group::of(columns, &chunk[0].group[..depth]);
            let watched = Watched::of(evidence, chunk, &own, depth);
            watched.rows(by, group, phi, table);
        }
    }
    Ok(())
}

/// One group's matings and faults.
struct Watched<'a> {
    evidence: &'a Evidence<'a>,
    histories: GroupedHistories,
    matings: i64,
    faults: i64,
    firsts: i64,
    /// Matings still followed on the last day.
    at_the_end: i64,
}

impl<'a> Watched<'a> {
    fn of(evidence: &'a Evidence, watched: &[Cell], faults: &[&Cell], depth: usize) -> Self {
        let last = evidence.rules().horizon_days.saturating_sub(1);
        let count = |cell: &Cell, at: usize| cell.sums[at].max(0) as u64;
        let two = |at: usize| {
            let told = faults.iter().filter(move |cell| cell.sums[at] > 0);
            told.map(move |cell| (cell.places[depth], cell.places[depth + 1], count(cell, at)))
        };
        let sum = |at: usize| {
            faults.iter().fold(0_i64, |sum, cell| sum.saturating_add(cell.sums[at].max(0)))
        };
        let matings = |cells: &mut dyn Iterator<Item = &Cell>| {
            cells.fold(0_i64, |sum, cell| sum.saturating_add(cell.sums[0].max(0)))
        };
        Watched {
            evidence,
            histories: GroupedHistories {
                ended: watched.iter().map(|cell| (cell.places[depth], count(cell, 0))).collect(),
                pairs: two(0).collect(),
                events: two(1).collect(),
            },
            matings: matings(&mut watched.iter()),
            at_the_end: matings(&mut watched.iter().filter(|cell| cell.places[depth] >= last)),
            faults: sum(1),
            firsts: sum(2),
        }
    }

    fn rows(&self, by: &'static str, group: Group, phi: f64, table: &mut Table) {
        let level = self.evidence.rules().level;
        let horizon = i64::from(self.evidence.rules().horizon_days);
        let curve = grouped_mean_cumulative(&self.histories, phi, level);
        let push = |table: &mut Table, estimate: &Estimate, day: i64, at_risk: i64| {
            let unit = Unit::PerThousandMatings;
            let mut row = Row::of(by, group.clone(), QUANTITY, unit, estimate).scaled(1000.0);
            row.n = self.matings as f64;
            let mut values = own(table, "linked", 0, None);
            for (name, value) in [
                ("phi", Value::Number(phi)),
                ("day", Value::Count(day)),
                ("at_risk", Value::Count(at_risk)),
            ] {
                if let Some(at) = table.own.iter().position(|own| *own == name) {
                    values[at] = value;
                }
            }
            let thin = at_risk < self.evidence.rules().least_count.into();
            let flags = thin.then_some(Flag::Thin).into_iter();
            let row = row.with(values).flagged(flags);
            table.rows.push(row.flagged(self.evidence.guessed_cover(None)));
        };
        if by == "fleet" {
            for point in curve.iter().filter(|point| point.age as i64 + 1 < horizon) {
                push(table, &point.mean, point.age as i64 + 1, point.at_risk as i64);
            }
        }
        match curve.last() {
            Some(last) => push(table, &last.mean, horizon, self.at_the_end),
            None => {
                // Nothing happened to those still followed at the end.
                let mut none = garwood_dispersed(0, self.at_the_end as f64, phi, level);
                none.low = none.low.filter(|_| none.value.is_some());
                push(table, &none, horizon, self.at_the_end);
            }
        }
        if self.faults > 0 {
            let repeats = (self.faults - self.firsts).max(0);
            let mut share = wilson(repeats as f64 / phi, self.faults as f64 / phi, level);
            (share.n, share.events) = (self.faults as f64, repeats as u64);
            let row = Row::of(by, group.clone(), "repeat-faults", Unit::Share, &share);
            let thin = self.faults < self.evidence.rules().least_count.into();
            let values = own(table, "linked", 0, None);
            table.rows.push(row.with(values).flagged(thin.then_some(Flag::Thin)));
        }
    }
}
