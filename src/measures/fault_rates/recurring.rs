//! Linked faults that come back (5.4): the mean number a mating has had by each day since it was made,
//! first or not, and how many were not the first.
//!
//! Of the matings of the look-back that were followed from their first moment on. Nelson's mean
//! cumulative function (1988); its variance allows for faults of one mating that come together, and is
//! multiplied by the scatter of a site's blocks of time.

use super::declared::{By, Certainty, Own, Quantity, Row, Table};
use crate::by;
use crate::derive::counts::{Day, Family, Recurrences, Stage, Watched, WithDay, recurrences};
use crate::derive::{Along, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::{
    Estimate, GroupedHistories, garwood_dispersed, grouped_mean_cumulative, wilson,
};

/// Adds the curve of the fleet, the mean at the horizon of every group, and the share of repeats.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn recurring_faults(
    evidence: &Evidence,
    phi: f64,
    table: &mut Table,
) -> Result<(), DeriveError> {
    // The fleet has the whole curve, the other groups the mean at the horizon.
    for (by, matings, faults) in [
        (By::Fleet, by!(), by!(Day)),
        (By::Stage, by!(Stage), by!(Stage, Day)),
        (By::Family, by!(Family), by!(Family, Day)),
        (By::StageFamily, by!(Stage, Family), by!(Stage, Family, Day)),
    ] {
        let watched = evidence.along::<Day, Watched>(&evidence.looked_back(), &matings)?;
        let faults = evidence.along::<WithDay, Recurrences>(&evidence.looked_back(), &faults)?;
        for matings_of in &watched {
            let group = Group::of(&matings.columns(), &matings_of.words);
            let histories = Histories::of(evidence, matings_of, &faults);
            histories.rows(by, group, phi, table);
        }
    }
    Ok(())
}

/// One group's matings and faults.
struct Histories<'a> {
    evidence: &'a Evidence<'a>,
    grouped: GroupedHistories,
    matings: i64,
    faults: i64,
    firsts: i64,
    /// Matings still followed on the last day.
    at_the_end: i64,
}

impl<'a> Histories<'a> {
    /// Of the matings of one group, and of all faults: those of its places and one day each are its own.
    fn of(
        evidence: &'a Evidence,
        matings: &Along<Watched, Day>,
        faults: &[Along<Recurrences, WithDay>],
    ) -> Self {
        let last = evidence.rules().horizon_days.saturating_sub(1);
        let own: Vec<(u32, u32, recurrences::Row)> = faults
            .iter()
            .filter_map(|found| found.places.split_last().map(|(day, group)| (found, *day, group)))
            .filter(|(_, _, group)| *group == matings.places)
            .flat_map(|(found, day, _)| {
                found.cells.iter().map(move |(with, row)| (day, with.0, *row))
            })
            .collect();
        let count = |figure: i64| figure.max(0).unsigned_abs();
        let two = |of: fn(&recurrences::Row) -> i64| {
            let counted = own.iter().filter(move |(_, _, row)| of(row) > 0);
            counted.map(move |(day, with, row)| (*day, *with, count(of(row)))).collect()
        };
        let sum = |of: fn(&recurrences::Row) -> i64| {
            own.iter().fold(0_i64, |sum, (_, _, row)| sum.saturating_add(of(row).max(0)))
        };
        let matings_from = |day: u32| {
            let cells = matings.cells.iter().filter(move |(ended, _)| ended.0 >= day);
            cells.fold(0_i64, |sum, (_, row)| sum.saturating_add(row.matings.max(0)))
        };
        let ended = matings.cells.iter().map(|(day, row)| (day.0, count(row.matings)));
        Histories {
            evidence,
            grouped: GroupedHistories {
                ended: ended.collect(),
                pairs: two(|row| row.pairs),
                events: two(|row| row.faults),
            },
            matings: matings_from(0),
            at_the_end: matings_from(last),
            faults: sum(|row| row.faults),
            firsts: sum(|row| row.firsts),
        }
    }

    fn rows(&self, by: By, group: Group, phi: f64, table: &mut Table) {
        let rules = self.evidence.rules();
        let (level, horizon) = (rules.level, rules.horizon_days);
        let least = i64::from(rules.least_count);
        let curve = grouped_mean_cumulative(&self.grouped, phi, level);
        let mut push = |estimate: &Estimate, day: u32, at_risk: u64| {
            let own = Own {
                phi: Some(phi),
                day: Some(day),
                at_risk: Some(at_risk),
                ..Own::with(Certainty::Linked)
            };
            let row = Row::of(by, group.clone(), Quantity::MeanCumulative, estimate, own);
            let row = Row { n: self.matings as f64, ..row.scaled(1000.0) };
            let thin = i64::try_from(at_risk).is_ok_and(|at_risk| at_risk < least);
            let row = row.flagged(thin.then_some(Flag::Thin));
            table.rows.push(row.flagged(self.evidence.guessed_cover(None)));
        };
        if by == By::Fleet {
            // Ages are whole days: a fault of day 0 counts by the end of day 1.
            for point in &curve {
                let day = point.age as u32 + 1;
                if day < horizon {
                    push(&point.mean, day, point.at_risk);
                }
            }
        }
        let at_the_end = self.at_the_end.max(0).unsigned_abs();
        match curve.last() {
            Some(last) => push(&last.mean, horizon, at_the_end),
            None => {
                // Nothing happened to those still followed at the end.
                let mut none = garwood_dispersed(0, self.at_the_end as f64, phi, level);
                none.low = none.low.filter(|_| none.value.is_some());
                push(&none, horizon, at_the_end);
            }
        }
        if self.faults > 0 {
            let repeats = (self.faults - self.firsts).max(0);
            let mut share = wilson(repeats as f64 / phi, self.faults as f64 / phi, level);
            (share.n, share.events) = (self.faults as f64, repeats as u64);
            let own = Own::with(Certainty::Linked);
            let row = Row::of(by, group.clone(), Quantity::RepeatFaults, &share, own);
            table.rows.push(row.flagged((self.faults < least).then_some(Flag::Thin)));
        }
    }
}
